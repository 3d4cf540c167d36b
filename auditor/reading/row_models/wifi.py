"""Rows about Wi-Fi names, the profiles they take settings from, and radios."""

from __future__ import annotations

from auditor.reading.fields import Commas, Flag, OffFlag, TextLines, VlanRef, WordList
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.row_models.row import Row


class WifiRow(Row):
    """A Wi-Fi name, or a profile that such names take settings from.

    Attributes:
        name: the profile's own name, where it has one beside the SSID.
        space: of a profile, which of the four kinds below it is.
        security_profile, datapath, channel, configuration: names of profiles whose settings hold where this row
            says nothing, the first before the last.
        interface: the layer-2 interface that airs it; ``network`` the layer-3 network it leads into.
        radios: names of the radios that air it; ``master`` the interface whose radio it shares.
        security: the dialect's words for it, translated by platform.yaml; behind ``security_mode`` where it has one.
        passphrase_means: what ``security`` is where nothing says so and there is a passphrase.
        passphrase_form: how the passphrase is stored, for platform.yaml's ``passphrases``.
        isolation: clients cannot reach each other; ``forwarding`` the other way round, as ``broadcast`` is to hidden.
        local: its frames leave by the access point, tagged with its VLAN, whatever network its interface is in; or they
            all come here, where only an interface laid on its own takes up such a tag.
        mode: what the interface is on the air; only access points count.
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
    radios: WordList = ()
    master: str = ""
    band: str = ""
    vlan: VlanRef = ""
    vlan_used: Flag = True
    local: Flag = False
    security: Commas = ()
    security_mode: str = ""
    passphrase_means: Commas = ()
    passphrase: str = ""
    passphrase_form: str = ""
    hidden: Flag = False
    broadcast: Flag = True
    isolation: Flag = False
    forwarding: Flag = True
    disabled: OffFlag = False
    mode: str = ""

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
    """

    name: str = ""
    band: str = ""
    bridge: str = ""
    isolation: Flag = False
    disabled: OffFlag = False
    ssids: TextLines = ()
