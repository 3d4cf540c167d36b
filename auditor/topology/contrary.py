"""Lines about VLANs that cannot hold together, or hang on something that no line makes."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

from auditor.reading.row_models.switching import VlanRow
from auditor.reading.source import Ref
from auditor.topology.interfaces import Interfaces


def several_native(interfaces: Interfaces) -> Iterator[Ref]:
    """Yield tags of a port of which several are to travel untagged."""
    for name, children in interfaces.children.items():
        natives = [child for child in children if child.enabled and child.vlan_tag and child.tag_native]
        if len({child.vlan_tag for child in natives}) > 1 and name in interfaces.devices:
            yield from (ref for child in natives for ref in child.at("tag_native"))


def addresses_taken_out(rows: Iterable[VlanRow]) -> Iterator[Ref]:
    """Yield lines that take an address out of a VLAN that has one."""
    rows = list(rows)
    addressed = {row.head for row in rows if row.addresses}
    yield from (ref for row in rows if row.head in addressed and row.method == "none" for ref in row.refs("method"))


def contrary_in_chips(rows: Iterable[VlanRow], chips: Collection[str]) -> Iterator[Ref]:
    """Yield VLANs of a chip that no line makes, without the number that it keeps them by, or of a port both ways."""
    for row in rows:
        yield from row.at("bridge") if row.bridge not in chips else ()
        yield from row.at("vlan_ids") if not row.says("index") else ()
        yield from row.at("tagged_ports") if {*row.tagged_ports} & {*row.untagged_ports} else ()
