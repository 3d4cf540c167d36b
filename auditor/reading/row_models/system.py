"""Rows about the device as a whole."""

from __future__ import annotations

from auditor.reading.fields import Flag, Offset, Servers, VlanRef, WordList
from auditor.reading.row_models.row import Row


class SystemRow(Row):
    """Settings of the whole device. ``login_…``: whether that way in is open; ``logins`` opens several at once.

    ``relay_to``: where the interfaces that say so relay DHCP requests to; ``voice_vlan`` that of the ports that say so.
    ``…_service``: whether that is done at all; ``snmp_used`` and the like: whether what is set up there is in use.
    ``syslog_name`` names a place that messages can go to; they do where some row has it as its ``syslog_action``.
    ``routing``: packets are passed on between layer-3 interfaces; ``bundle_count``: how many bundles there may be.
    ``only_vlan``: the one VLAN that the device itself is in; ``vrf``: the VRF in which a login or SNMP is offered.
    """

    hostname: str = ""
    domain: str = ""
    ntp: WordList = ()
    ntp_enabled: Flag = True
    ntp_used: Flag = True
    dns: Servers = ()
    syslog: WordList = ()
    syslog_name: str = ""
    syslog_action: str = ""
    syslog_used: Flag = True
    relay_to: Servers = ()
    snmp: Flag = False
    logins: WordList = ()
    login_ssh: Flag = False
    login_telnet: Flag = False
    login_http: Flag = False
    login_https: Flag = False
    web_used: Flag = True
    dhcp_service: Flag = True
    shared_service: Flag = True
    relay_service: Flag = True
    snmp_used: Flag = True
    voice_vlan: VlanRef = ""
    voice_used: Flag = True
    vlans_shown: Flag = False
    native_tagged: Flag = False
    wifi_elsewhere: Flag = False
    routing: Flag = True
    only_vlan: VlanRef = ""
    vrf: str = ""
    bundle_count: Offset = 0

    @property
    def ways(self) -> dict[str, bool | None]:
        """By way to log in, whether it is open; ``None`` where the row does not say."""
        return {
            "http": self.login_http if self.says("login_http") else None,
            "https": self.login_https if self.says("login_https") else None,
            "ssh": self.login_ssh if self.says("login_ssh") else None,
            "telnet": self.login_telnet if self.says("login_telnet") else None,
        }
