"""Links between bundles that cannot form, for their two ends do not meet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from auditor.network.graph import End, Link
from auditor.topology.aggregation import Aggregation

_WHY = (
    "this bundle is {here} and {device} {port} at the other end of its link is {there}, so it does not form: "
    "make both ends alike, the more distant one first"
)


def unmet(
    links: Iterable[Link], made: Mapping[str, Mapping[str, Aggregation]]
) -> Iterator[tuple[End, Aggregation, str]]:
    """Yield the ends of links whose bundles do not meet, how each is made, and why that is wrong.

    Args:
        links: the planned links.
        made: by device and port, how a bundle was seen to be made.
    """
    for link in links:
        for one, other in (link, link[::-1]):
            here, there = (made.get(end[0], {}).get(end[1]) for end in (one, other))
            if here and there and not here.meets(there):
                yield one, here, _WHY.format(here=here, there=there, device=other[0], port=other[1])
