"""Commands that take away whole sections of a configuration: what hangs on them, and what their undo would lose.

What such commands look like, which section each takes and by what name others refer to it, is data of the platform.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from auditor.areas.block import Block
from auditor.corrections.withheld.context import ConfigLine, DeviceContext
from auditor.corrections.withheld.words import say
from auditor.platforms.shape import BLOCK_ENDS


class _Taken(NamedTuple):
    """A section that a command takes away, and what others call it; empty where nothing refers to it."""

    block: Block
    name: str


def why(context: DeviceContext, commands: Iterable[str], undo: Iterable[str]) -> Iterator[str]:
    """Yield the reasons why commands, or their undo, are withheld."""
    brought_back = "\n".join(undo)
    taken = list(_taken(context, "\n".join(commands)))
    for block, name in taken:
        if name:
            yield from _referred(context, name, [each.block for each in taken])
        if context.platform.layout.kind == "indented":
            yield from _lost(context, block, brought_back)
    for block, _ in _taken(context, brought_back):
        yield say("name taken", section=f"{ConfigLine(block.header, block).place} ({block.header})")


def _taken(context: DeviceContext, commands: str) -> Iterator[_Taken]:
    """Yield the sections of the capture that some commands take away."""
    for removal in context.rules.removals:
        for match in re.finditer(removal.command, commands, re.MULTILINE):
            groups = match.groups(default="")
            header, line = (part.format(*map(re.escape, groups)) for part in (removal.section, removal.line))
            for block in context.reading.blocks:
                text = " ".join(block.lines)
                if re.fullmatch(header, block.header, re.IGNORECASE) and re.search(line, text, re.IGNORECASE):
                    yield _Taken(block, removal.called.format(*groups))


def _referred(context: DeviceContext, name: str, taken: list[Block]) -> Iterator[str]:
    """Another section names one that goes."""
    word = re.compile(rf"(?<![\w.-]){re.escape(name)}(?![\w.-])", re.IGNORECASE)
    for statement in context.statements:
        if statement.block not in taken and word.search(statement.text):
            yield say("in use", line=statement.place, name=name)


def _lost(context: DeviceContext, block: Block, brought_back: str) -> Iterator[str]:
    """A line of a section that goes stands nowhere in the undo."""
    comment = tuple(context.platform.patterns("comment"))
    for line in block.lines:
        said = not line or line in BLOCK_ENDS or line.startswith(comment)
        if not said and not re.search(rf"(?:^|\s){re.escape(line)}(?:\s|$)", brought_back):
            yield say("not undone", section=block.header, line=ConfigLine(line, block).place)
            return
