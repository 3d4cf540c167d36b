"""Which platforms can be read, how much of each area, and what is not shown and why; on a terminal."""

from __future__ import annotations

import sys
from collections.abc import Iterable

from rich.console import Console
from rich.text import Text

from auditor.areas.abilities import Abilities
from auditor.core.state import AREAS
from auditor.platforms.gaps import told

_SIGNS = {"all": "yes", "part": "part", "none": "no"}


def show_platforms(found: Iterable[Abilities], console: Console | None = None) -> None:
    """Print a table of platforms and areas, then a paragraph a platform."""
    out = console or Console(file=sys.stdout, highlight=False, soft_wrap=True)
    each = list(found)
    rows: list[tuple[str, ...]] = [("platform", *AREAS, "read against")]
    rows += [
        (one.platform.name, *(_SIGNS[one.of(area)] for area in AREAS), str(one.platform.real_configurations))
        for one in each
    ]
    widths = [max(len(row[column]) for row in rows) for column in range(len(rows[0]))]
    for number, row in enumerate(rows):
        cells = [cell.ljust(width) for cell, width in zip(row, widths, strict=True)]
        out.print(Text("  ".join(cells).rstrip(), "" if number else "bold"))
    out.print()
    out.print(Text("yes: all that the dialect has of the area · part: see below · no: none of it"))
    out.print(Text("read against: real configurations by other people that it was tried on"))
    for one in each:
        out.print()
        _platform(one, out)


def _platform(one: Abilities, out: Console) -> None:
    platform = one.platform
    out.print(Text(" · ".join([platform.name, *platform.also]), "bold"), Text(platform.about))
    out.print(Text(f"  save the answers to: {' · '.join(platform.commands)}"))
    for title, gaps in (("has no", platform.lacks), ("cannot read", platform.cannot)):
        for what, why in told(gaps):
            out.print(Text(f"  {title} {what}: {why}"))
    for what, why in platform.cannot_show.items():
        out.print(Text(f"  cannot show {what}: {why}"))
