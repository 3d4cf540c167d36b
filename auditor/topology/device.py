"""All rows of a device put together as far as areas share it: interfaces, bridges, VLANs, addresses, radios."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from functools import cached_property
from ipaddress import IPv4Interface

from auditor.core.state import Setting
from auditor.reading.dialect import Dialect
from auditor.reading.row_models import ReadRows, RowDefaults
from auditor.reading.row_models.system import SystemRow
from auditor.reading.source import Ref
from auditor.topology.absent import Makers
from auditor.topology.ineffective import ineffective, lower_layer_down
from auditor.topology.interfaces import PORT_KINDS, Interface, Interfaces
from auditor.topology.layer2 import Layer2
from auditor.topology.layer3 import LEASED, Layer3, own_addresses
from auditor.topology.managed_radios import MESH
from auditor.topology.relays import relay, relay_of_device, serve_up_to
from auditor.topology.switch_chips import SwitchChips
from auditor.topology.system import ANY, System
from auditor.topology.wifi_interfaces import WifiInterfaces
from auditor.topology.zones import Zones

SWITCHING = Interface.fields(
    "mode", "layer2", "access_vlan", "native_vlan", "allowed_vlans", "voice_vlan", "phone_vlan", "tagged_vlans",
    "vlan_members", "switched", "memberships", "trunk_memberships", "pvid",
)  # fmt: skip
"""What only a port that switches says."""


def _inside(addresses: list[str]) -> bool:
    """Return whether these are addresses by which a device reaches itself alone (RFC 1122, 3.2.1.3)."""
    return bool(addresses) and all(a not in LEASED and IPv4Interface(a).is_loopback for a in addresses)


class Topology:
    """How what a capture says of a device hangs together.

    Attributes:
        dialect, platform: what it was read as.
        rows: typed rows by feature.
        headers: the first lines of all sections, which tell what the capture shows.
        defaults: what lines that are not there mean in this capture.
        blocked: what is set up and lets nothing in: filled while the device's settings are put together.
        overriding: lines that are read and override a setting all the same, why, and which one; filled likewise.
        system, interfaces, wifi, layer2, zones, layer3: the rows put together.

    ``elsewhere``: names of what is not read; ``None``: an interface of any name may be there.
    """

    def __init__(
        self,
        dialect: Dialect,
        rows: ReadRows,
        headers: list[str],
        defaults: RowDefaults,
        elsewhere: Collection[str] | None = None,
    ) -> None:
        self.dialect = dialect
        self.platform = dialect.platform
        chips = SwitchChips(dialect.names, rows)
        self._unnamed = list(chips.unknown)
        if elsewhere is not None and dialect.names.tells_made:
            self._unnamed += Makers(dialect.names, elsewhere, rows).absent()
        self.rows = rows = chips.rows
        self.headers = headers
        self.defaults = defaults
        self.interfaces = Interfaces(dialect.names, rows, defaults["interface"])
        self.system = System([row for row in rows.system if self._offered(row)], defaults["system"])
        relay_of_device(self.interfaces, rows.system, rows.route)
        serve_up_to(self.interfaces, rows.interface)
        self.wifi = WifiInterfaces(rows, defaults)
        relay(self.interfaces, rows.relay)
        joined = [*self.wifi.joined(), *(self._bridges_of_the_air() if self.platform.bridging.air_apart else ())]
        self.layer2 = Layer2(self.platform, self.interfaces, rows, self.wifi.tagging(), joined)
        self.zones = Zones(rows.zone, expected=self.system.zoned)
        self.layer3 = Layer3(self.interfaces, self.layer2, self.zones)
        self.blocked: set[Setting] = set()
        self.overriding: list[tuple[Ref, str, Setting]] = []

    def _bridges_of_the_air(self) -> Iterator[str]:
        """Make bridges of the interfaces that are on none and take up frames from the air, and yield their names."""
        for row in self.wifi.rows:
            interface = self.interfaces.devices.get(row.interface)
            alone = interface and interface.kind == "radio" and not self.interfaces.bridge_of.get(interface.name)
            if interface and alone and not row.local and row.mode != MESH:
                interface.kind = "bridge"
                yield interface.name

    def _offered(self, row: SystemRow) -> bool:
        """Return whether others reach the interface that a row is for, as far as the capture has interfaces."""
        here = self.interfaces
        if not row.only_on or not here.networks:
            return True
        found = here.find(row.only_on)
        return found is not None and not _inside(own_addresses(found))

    def answers(self, way: str, address: str) -> bool:
        """Return whether a way to log in is answered at one of the device's own addresses, as far as rows say where."""
        rows = [row for row in self.system.here if row.ways.get(way) or way in row.logins]
        return not rows or any(self._answers(row, address) for row in rows)

    def _answers(self, row: SystemRow, address: str) -> bool:
        found = self.interfaces.find(row.only_on) if row.only_on else None
        at = own_addresses(found) if found else list(row.answers_at)
        fixed = {each.partition("/")[0] for each in at}
        open_ended = any(":" in each for each in fixed) or not fixed.isdisjoint((*LEASED, *ANY))
        return not fixed or open_ended or address in fixed

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
        """Return the lines that name interfaces, VLANs, Wi-Fi names or profiles which there cannot be, or are not."""
        interfaces, layer2, voice = self.interfaces, self.layer2, self.system.voice_vlan
        return [
            *self._unnamed,
            *(self.system.at("voice_vlan") if voice and layer2.names.of(voice) is None else ()),
            *interfaces.unknown(),
            *self.wifi.unknown(),
            *self._misnamed(),
            *layer2.names.unknown(),
            *layer2.unknown(),
        ]

    def _misnamed(self) -> Iterator[Ref]:
        """Yield the lines that list ports by names that are none."""
        for row in self.rows.vlan:
            if any(not self.dialect.names.is_name(name) for name in row.listed_on):
                yield from row.at("listed_on")

    @cached_property
    def born_as(self) -> dict[str, str]:
        """Names that ports were born with, and their names now."""
        return {i.alias: i.name for i in self.interfaces.devices.values() if i.alias}

    @cached_property
    def ineffective(self) -> frozenset[Setting]:
        """Ports and gateways that are configured and have no effect."""
        return ineffective(self.platform, self.interfaces, self.layer2, self.system, self.zones)

    @cached_property
    def lower_layer_down(self) -> frozenset[Setting]:
        """Ports and gateways that are on themselves and down by a lower layer (RFC 2863)."""
        return lower_layer_down(self.interfaces, self.layer2)
