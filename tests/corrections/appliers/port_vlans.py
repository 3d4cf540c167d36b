"""VLANs of a port to which each command adds and from which ``no`` takes away, printed as one list a way.

From memory of the JetStream command reference: a port is untagged in VLAN 1 until it is taken out of it, and a VLAN
that is added again leaves the port in the way said last.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from tests.corrections.appliers.memberships import EVERY, listed, numbers


def change(statement: str, command: str, lines: list[Any], line: Callable[[str], Any]) -> None:
    """Carry out a command about a port's VLANs, and print them anew among the lines of the port.

    Args:
        statement: the words before the list, with a blank behind them; ways are said behind the list, if at all.
        command: the statement with its list, or ``no`` and that.
        lines: the lines of the port.
        line: makes a new one.
    """
    first = "untagged" if " general " in statement else ""
    held = {1: first}
    own = [node for node in lines if node.text.removeprefix("no ").startswith(statement)]
    for text in [*(node.text for node in own), command]:
        vids, *way = text.removeprefix("no ").removeprefix(statement).split()
        named = EVERY if vids == "all" else numbers(vids)
        held = {vid: old for vid, old in held.items() if vid not in named}
        if not text.startswith("no "):
            assert len(way) == bool(first), command
            held |= dict.fromkeys(named, way[0] if way else "")
    printed = []
    for way_of in dict.fromkeys([first, *sorted(held.values(), reverse=True)]):
        vids_of = {vid for vid, found in held.items() if found == way_of} - ({1} if way_of == first else set())
        printed += [f"{statement}{listed(vids_of)} {way_of}".strip()] if vids_of else []
    if 1 not in held:
        printed.append(f"no {statement}1")
    lines[:] = [line(text) for text in printed] + [node for node in lines if node not in own]
