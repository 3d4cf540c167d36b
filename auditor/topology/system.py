"""Settings of the whole device: its name, the servers it uses, the ways to log in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from auditor.core.values import VlanSet
from auditor.platforms.definition import Default
from auditor.reading.row_models import together
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.row_models.system import SystemRow
from auditor.reading.source import Ref, Refs
from auditor.topology.evidence import apply_defaults

DEFAULT_VRF = "default"
"""The VRF of everything that is in no other."""
ANY = ("0.0.0.0", "::")  # noqa: S104 - as they stand in a capture
"""Stand for all addresses of a device."""


class System(SystemRow):
    """All ``system`` rows of a device added up, the later one winning.

    Attributes:
        here, apart: the rows of the default VRF, and those of others.
    """

    __slots__ = ("_all", "apart", "here")

    def __init__(self, rows: list[SystemRow], defaults: list[Default]) -> None:
        super().__init__({}, Ref(0, 0))
        self._all = rows
        active = [row for row in rows if not row.inactive]
        here = [row for row in active if _vrf(row) == DEFAULT_VRF]
        self.here = sorted(here, key=lambda row: row.says("vrf"))
        self.apart = [row for row in active if _vrf(row) != DEFAULT_VRF]
        said = self.said
        for row in self.here:
            for name, value in row.said.items():
                grows = name in said and isinstance(value, tuple | VlanSet)
                said[name] = together(said[name], value) if grows else value
        apply_defaults(defaults, self)

    def routing_in(self, vrf: str) -> bool:
        """Return whether packets are passed on in a VRF: as it says, else as in the default one."""
        said = [row.routing for row in self.apart if row.vrf == vrf and row.says("routing")]
        return said[-1] if said else self.routing

    def serving_in(self, vrf: str) -> bool:
        """Return whether the DHCP server of a VRF is on: as it says; where none says anything, one serves all."""
        said = [row.dhcp_service for row in self.apart if row.vrf == vrf and row.says("dhcp_service")]
        one_for_all = vrf == DEFAULT_VRF or not self.says("dhcp_service")
        return said[-1] if said else self.dhcp_service and one_for_all

    def asked_in_vrfs(self) -> Iterator[tuple[str, str, str, Refs]]:
        """Yield each server that is asked in another VRF than the default one: the VRF, what for, whom, the lines."""
        for row in (*self.here, *self.apart):
            own = _vrf(row)
            kinds: tuple[tuple[FieldName, Sequence[str], str], ...] = (
                ("ntp", row.ntp, own if row.says("vrf") else self.ntp_vrf or own),
                ("dns", row.dns, own),
                ("syslog", row.syslog, own),
            )
            for name, servers, vrf in kinds:
                for server in servers if vrf != DEFAULT_VRF else ():
                    yield vrf, name, server, row.refs(name)

    @property
    def all_lines_said(self) -> bool:
        """Whether the capture tells of each terminal line what it lets in, or of none."""
        there = range(max((self.line_count, *(line + 1 for line in self.lines))))
        return not self.lines or not set(there).difference(self.lines)

    def answers_by(self, way: str, vrf: str, address: str) -> bool:
        """Return whether a login, or ``snmp``, that is offered in a VRF is answered at one of the device's addresses.

        It is where some row that offers it names that address, or none.
        """
        rows = self.here if vrf == DEFAULT_VRF else [row for row in self.apart if row.vrf == vrf]
        if way == "snmp":
            return _named(self.snmp_at, address)
        told = [row.answers_at for row in rows if row.ways.get(way) or way in row.logins]
        return not told or any(_named(addresses, address) for addresses in told)

    def unused(self) -> set[str]:
        """Return the fields of layer-3 interfaces that do nothing, for the whole device does not do that."""
        found = set() if self.shared_service else {"shared_addresses"}
        return found if self.relay_service else {*found, "relay_to"}

    def at(self, *names: FieldName) -> Refs:
        """Return the lines of some values."""
        rows = self._all if "inactive" in names else [*self.here, *self.apart]
        wanted = frozenset(names) - {"inactive"}
        return tuple(ref for row in rows if row.says_any(wanted) for name in names for ref in row.refs(name))


def _named(addresses: Sequence[str], address: str) -> bool:
    """Return whether an address is one of some, or these stand for all; none do, too."""
    return not addresses or not {address, *ANY}.isdisjoint(addresses)


def _vrf(row: SystemRow) -> str:
    return row.vrf if row.says("vrf") else DEFAULT_VRF
