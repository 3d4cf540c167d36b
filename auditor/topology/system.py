"""Settings of the whole device: its name, the servers it uses, the ways to log in."""

from __future__ import annotations

from auditor.platforms.definition import Default
from auditor.reading.row_models.field_names import FieldName
from auditor.reading.row_models.system import SystemRow
from auditor.reading.source import Ref, Refs
from auditor.topology.evidence import apply_defaults

DEFAULT_VRF = "default"
"""The VRF of everything that is in no other."""


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
                said[name] = said.get(name, ()) + value if isinstance(value, tuple) else value
        apply_defaults(defaults, self)

    def unused(self) -> set[str]:
        """Return the fields of layer-3 interfaces that do nothing, for the whole device does not do that."""
        found = set() if self.shared_service else {"shared_addresses"}
        return found if self.relay_service else {*found, "relay_to"}

    def at(self, *names: FieldName) -> Refs:
        """Return the lines of some values."""
        rows = self._all if "inactive" in names else [*self.here, *self.apart]
        wanted = frozenset(names) - {"inactive"}
        return tuple(ref for row in rows if row.says_any(wanted) for name in names for ref in row.refs(name))


def _vrf(row: SystemRow) -> str:
    return row.vrf if row.says("vrf") else DEFAULT_VRF
