"""What can be read of a platform's devices, told by its data: a setting counts that some template or rule fills."""

from __future__ import annotations

import re
from dataclasses import dataclass

from auditor.core.state import Setting
from auditor.platforms.definition import Platform
from auditor.reading.dialect import Dialect, dialect

_VLANS_OF_PORTS = (
    "interface.access_vlan interface.allowed_vlans interface.tagged_vlans interface.untagged_vlan interface.vlan_tag "
    "interface.vlan_members interface.memberships vlan.tagged_ports vlan.untagged_ports"
)
_FILLED_BY = {
    "hostname": "system.hostname",
    "vlans.name": "vlan.name interface.vlan_name",
    "ports.enabled": "interface.disabled",
    "ports.mode": _VLANS_OF_PORTS,
    "ports.untagged": _VLANS_OF_PORTS,
    "ports.tagged": _VLANS_OF_PORTS,
    "ports.voice": "interface.voice_vlan interface.phone_vlan interface.voice vlan.voice",
    "ports.description": "interface.description",
    "gateways.addresses": "interface.addresses vlan.addresses",
    "gateways.shared_addresses": "interface.shared_addresses vlan.shared_addresses interface.kind=shared",
    "gateways.relay_to": "interface.relay_to interface.relays relay.relay_to vlan.relay_to",
    "dhcp.pools": "dhcp_scope.ranges dhcp_scope.first dhcp_scope.start dhcp_scope.network dhcp_range.ranges "
    "dhcp_range.first",
    "dhcp.gateway": "dhcp_scope.gateway dhcp_network.gateway dhcp.gateway",
    "dhcp.dns": "dhcp_scope.dns dhcp_network.dns dhcp.dns",
    "dhcp.domain": "dhcp_scope.domain dhcp_network.domain dhcp.domain",
    "dhcp.lease_seconds": "dhcp_scope.lease dhcp_scope.lease_days dhcp_network.lease",
    "dhcp.options": "dhcp_scope.options dhcp_network.options dhcp_option.code",
    "dhcp.reservations": "dhcp_reservation.address dhcp_scope.host dhcp_scope.reserved",
    "ssids.vlan": "wifi.vlan wifi.network wifi.interface",
    "ssids.security": "wifi.security wifi_profile.security",
    "ssids.bands": "wifi.band wifi.radios radio.ssids",
    "ssids.hidden": "wifi.hidden wifi.broadcast",
    "ssids.client_isolation": "wifi.isolation wifi.forwarding interface.isolation",
    "ssids.enabled": "wifi.disabled radio.disabled wifi.interface",
    "ssids.passphrase_matches": "wifi.passphrase wifi_profile.passphrase",
    "uplinks.method": "interface.method",
    "uplinks.address": "interface.addresses",
    "management.ntp": "system.ntp",
    "management.dns": "system.dns interface.dns",
    "management.syslog": "system.syslog",
    "management.snmp": "system.snmp",
    "management.logins": "interface.lets_in system.logins system.login_ssh system.login_telnet "
    "system.login_http system.login_https",
}
"""By setting, the fields of rows that it can come from; ``dhcp.…`` stands for what platform.yaml says under dhcp."""


@dataclass(frozen=True, slots=True)
class Abilities:
    """What can be read of one platform.

    Attributes:
        platform: its data.
        read: the settings that can be read, as ``area.field``; ``hostname``, and ``vlans`` for VLANs as such.
        missing: the settings that the dialect may have and that are not read.
        lacking: the settings that it has no notion of.
    """

    platform: Platform
    read: frozenset[str]
    missing: tuple[str, ...]
    lacking: tuple[str, ...]

    def of(self, area: str) -> str:
        """Return how much of an area can be read: ``all``, ``part`` or ``none`` of what the dialect has of it."""
        if not any(name.partition(".")[0] == area for name in self.read):
            return "none"
        return "part" if any(name.partition(".")[0] == area for name in self.missing) else "all"


def abilities_of(name: str) -> Abilities:
    """Return what can be read of a platform.

    Raises:
        PlatformError: no such platform, or its data are broken.
    """
    ready = dialect(name)
    filled = _filled(ready)
    lacks = ready.platform.lacks
    read, missing, lacking = {"vlans"}, [], []
    for setting, sources in _FILLED_BY.items():
        area, _, each = setting.partition(".")
        if filled & set(sources.split()):
            read.add(setting)
        elif Setting(area) in lacks or Setting(area, "", each) in lacks:
            lacking.append(setting)
        else:
            missing.append(setting)
    return Abilities(ready.platform, frozenset(read), tuple(missing), tuple(lacking))


def _filled(ready: Dialect) -> set[str]:
    """Return the fields of rows that templates, first lines, rules and the DHCP server's ways fill."""
    platform = ready.platform
    found = {f"{template.feature}.{value.lower()}" for template in ready.templates for value in template.value_names}
    for rule in platform.sections:
        groups = {group for pattern in rule.opens for group in re.compile(pattern).groupindex}
        found.update(f"{rule.feature}.{group.lower()}" for group in groups)
        found.update(f"{rule.feature}.{name}" for name in rule.values)
        found.update(f"{rule.feature}.{name}={value}" for name, value in rule.values.items())
    found.update(f"dhcp.{name}" for name in (*platform.dhcp.own, *platform.dhcp.option_fields.values()))
    found.update(f"{default.feature}.{name}" for default in platform.defaults for name in default.fields)
    return found
