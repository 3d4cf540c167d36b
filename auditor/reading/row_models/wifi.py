"""Rows about Wi-Fi names, the profiles they take settings from, and radios."""

from __future__ import annotations

from auditor.reading.fields import Commas, Flag, OffFlag, Present, TextLines, VlanRef, WordList
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.row_models.row import Row


class WifiRow(Row):
    """A Wi-Fi name, or a profile that such names take settings from.

    Attributes:
        name: the profile's own name, where it has one beside the SSID.
        space: of a profile, which of the four kinds below it is.
        security_profile, datapath, channel, configuration: names of profiles whose settings hold where this row
            says nothing, the first before the last.
        interface: the layer-2 interface that airs it; ``network`` the layer-3 network it leads into; ``bridge`` the
            bridge that it joins when it comes up.
        radios: names of the radios that air it; ``master`` the interface whose radio it shares.
        security: the dialect's words for it, translated by platform.yaml; behind ``security_mode`` where it has one.
        passphrase_means: what ``security`` is where nothing says so and there is a passphrase.
        older_passphrase: the one by which clients join that know WPA alone, where both are offered.
        passphrase_form: how the passphrase is stored, for platform.yaml's ``passphrases``.
        isolation: clients cannot reach each other; ``forwarding`` the other way round, as ``broadcast`` is to hidden.
        local: its frames leave by the access point, tagged with its VLAN, whatever network its interface is in; or they
            all come here, where only an interface laid on its own takes up such a tag.
        managed: what it airs is kept by another device, and nothing said here is.
        mode: what the interface is on the air; only access points count.
        login_at: by which servers clients log in, where that is how they join.
        standard: a word of the radio's standard that has a band, too: on channels of another one it broadcasts nothing.
        device: the radio that it is on, which other names may be on, too; that is on one channel.
        login_by_mac: clients are let on by their MAC addresses, by the servers or groups ``mac_login_at``.
        by_several: it is broadcast only where the radio broadcasts several.
    """

    name: str = ""
    ssid: str = ""
    space: str = ""
    security_profile: str = ""
    datapath: str = ""
    channel: str = ""
    configuration: str = ""
    interface: str = ""
    network: WordList = ()
    bridge: str = ""
    radios: WordList = ()
    master: str = ""
    band: str = ""
    standard: str = ""
    device: str = ""
    vlan: VlanRef = ""
    vlan_used: Flag = True
    local: Flag = False
    security: Commas = ()
    security_mode: str = ""
    passphrase_means: Commas = ()
    passphrase: str = ""
    passphrase_form: str = ""
    older_passphrase: str = ""
    hidden: Flag = False
    broadcast: Flag = True
    isolation: Flag = False
    forwarding: Flag = True
    disabled: OffFlag = False
    mode: str = ""
    managed: Flag = False
    login_at: WordList = ()
    login_by_mac: Flag = False
    mac_login_at: WordList = ()
    by_several: Flag = False

    @property
    def profiles(self) -> dict[FieldName, tuple[str, str]]:
        """The kind and name of each profile that it takes settings from, by the field that says so, in their order."""
        return {
            "security_profile": ("security", self.security_profile),
            "datapath": ("datapath", self.datapath),
            "channel": ("channel", self.channel),
            "configuration": ("configuration", self.configuration),
        }


class RadioRow(Row):
    """A radio: its band, whether it is on, and where a dialect lists them here, the Wi-Fi names it airs.

    ``bridge``: what it is on, by name or number, with all that carries no tag; ``isolation``: stations do not reach
    each other there.
    ``isolated_in``: they do not reach each other in this bridge, if the radio is on that.
    ``profile``: the profile that it is set up in; it is there where an access point uses that. ``airs``: which names
    such a radio airs: those that are ``listed``, ``all``, or those whose frames leave by the access point (``local``)
    or come here (``central``).
    ``ciphers``: what encrypts the frames of a VLAN, its number first, or of all that is in none; such words stand
    beside those of a Wi-Fi name's ``security``. ``several``: it broadcasts more than one name.
    ``hardware``: where in the device it is found; two of them cannot be there.
    """

    name: str = ""
    band: str = ""
    bridge: str = ""
    isolation: Flag = False
    isolated_in: str = ""
    disabled: OffFlag = False
    ssids: TextLines = ()
    profile: str = ""
    airs: str = ""
    ciphers: TextLines = ()
    several: Flag = True
    hardware: str = ""

    @property
    def isolates(self) -> bool:
        """Whether stations on it cannot reach each other."""
        return self.isolation or bool(self.isolated_in and self.isolated_in == self.bridge)


class AccessPointRow(Row):
    """An access point that is managed from here, by ``name``; its radios are those of its ``profile``."""

    name: str = ""
    profile: str = ""
    disabled: OffFlag = False


class WifiGroupRow(Row):
    """Wi-Fi names, by their own or by what they are called here, that radios list under one ``name``."""

    name: str = ""
    ssids: TextLines = ()


class WifiRuleRow(Row):
    """A rule about clients of the Wi-Fi names on an ``interface``, or on all; the first that fits a client counts.

    ``some``: it is about some clients alone. ``refused``: they do not get on. ``forwarding``, ``isolation``: as of a
    Wi-Fi name, in whose place it counts.
    """

    interface: str = ""
    some: Present = False
    refused: Flag = False
    isolation: Flag = False
    forwarding: Flag = False
