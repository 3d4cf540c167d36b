"""All rows of a device put together as far as areas share it: interfaces, bridges, VLANs, addresses, radios."""

from __future__ import annotations

from functools import cached_property

from auditor.core.state import Setting
from auditor.reading.dialect import Dialect
from auditor.reading.row_models import ReadRows, RowDefaults
from auditor.reading.source import Ref
from auditor.topology.ineffective import ineffective, lower_layer_down
from auditor.topology.interfaces import PORT_KINDS, Interface, Interfaces
from auditor.topology.layer2 import Layer2
from auditor.topology.layer3 import Layer3
from auditor.topology.relays import relay
from auditor.topology.system import System
from auditor.topology.wifi_interfaces import WifiInterfaces

SWITCHING = Interface.fields(
    "mode", "layer2", "access_vlan", "native_vlan", "allowed_vlans", "voice_vlan", "phone_vlan", "tagged_vlans",
    "vlan_members", "switched", "memberships", "pvid",
)  # fmt: skip
"""What only a port that switches says."""


class Topology:
    """How what a capture says of a device hangs together.

    Attributes:
        dialect, platform: what it was read as.
        rows: typed rows by feature.
        headers: the first lines of all sections, which tell what the capture shows.
        defaults: what lines that are not there mean in this capture.
        system, interfaces, wifi, layer2, layer3: the rows put together.
    """

    def __init__(self, dialect: Dialect, rows: ReadRows, headers: list[str], defaults: RowDefaults) -> None:
        self.dialect = dialect
        self.platform = dialect.platform
        self.rows = rows
        self.headers = headers
        self.defaults = defaults
        self.system = System(rows.system, defaults["system"])
        self.interfaces = Interfaces(dialect.names, rows, defaults["interface"])
        self.interfaces.relay(rows.system)
        self.wifi = WifiInterfaces(rows, defaults)
        relay(self.interfaces, rows.relay)
        self.layer2 = Layer2(self.platform, self.interfaces, rows, self.wifi.tagging())
        self.layer3 = Layer3(self.interfaces, self.layer2)

    @cached_property
    def switching(self) -> bool:
        """Whether some port says something that only a port that switches says."""
        return any(i.says_any(SWITCHING) for i in self.ports)

    @cached_property
    def ports(self) -> list[Interface]:
        """The ports and bundles that lines say something of; not what is in a bundle, where that alone counts."""
        inside = frozenset() if self.platform.bridging.bundled_ports else self.interfaces.bundled
        return [i for i in self.interfaces.devices.values() if i.kind in PORT_KINDS and i.name not in inside]

    def unknown(self) -> list[Ref]:
        """Return the lines that name interfaces or VLANs which there cannot be, or are not."""
        return [*self.interfaces.unknown(), *self.layer2.names.unknown()]

    @cached_property
    def born_as(self) -> dict[str, str]:
        """Names that ports were born with, and their names now."""
        return {i.alias: i.name for i in self.interfaces.devices.values() if i.alias}

    @cached_property
    def ineffective(self) -> frozenset[Setting]:
        """Ports and gateways that are configured and have no effect."""
        return ineffective(self.platform, self.interfaces, self.layer2, self.system)

    @cached_property
    def lower_layer_down(self) -> frozenset[Setting]:
        """Ports and gateways that are on themselves and down by a lower layer (RFC 2863)."""
        return lower_layer_down(self.interfaces, self.layer2)
