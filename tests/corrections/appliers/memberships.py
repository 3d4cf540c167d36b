"""Lists of VLANs at a port that are changed by ``add`` and ``remove``, and printed as a whole.

A trunk's list stands for all VLANs where nothing is printed, and is printed as a whole. With ``old`` firmware it stands
for none and is printed behind ``add``. A general port is in VLAN 1 untagged until it is taken out of it; its lists are
printed behind ``add``, by the way they leave the port.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

EVERY = set(range(1, 4095))


def numbers(text: str) -> set[int]:
    """Return the numbers of a list such as ``10,20-22``."""
    found: set[int] = set()
    for piece in text.split(","):
        first, _, last = piece.partition("-")
        found.update(range(int(first), int(last or first) + 1))
    return found


def listed(vids: set[int]) -> str:
    """Return the list of some numbers."""
    starts = sorted(vid for vid in vids if vid - 1 not in vids)
    ends = sorted(vid for vid in vids if vid + 1 not in vids)
    return ",".join(f"{a}" if a == b else f"{a}-{b}" for a, b in zip(starts, ends, strict=True))


def change(statement: str, command: str, lines: list[Any], line: Callable[[str], Any], *, old: bool) -> None:
    """Carry out a command about a list of VLANs, and print the list anew among the lines of its port."""
    general = " general " in statement
    start = {1: "untagged"} if general else {} if old else dict.fromkeys(EVERY, "")
    held = dict(start)
    for text in [*(node.text for node in lines if node.text.startswith(statement)), command]:
        words = text.removeprefix(statement).split()
        if words[0] == "add":
            held |= dict.fromkeys(numbers(words[1]), (words[2:] or ["tagged"])[0] if general else "")
        elif words[0] == "remove":
            held = {vid: way for vid, way in held.items() if vid not in numbers(words[1])}
        else:
            held = {} if words[0] == "none" else dict.fromkeys(EVERY if words[0] == "all" else numbers(words[0]), "")
    printed = []
    for way in ("tagged", "untagged") if general else ("",):
        vids = {vid for vid, found in held.items() if found == way and (not general or start.get(vid) != way)}
        if general or old:
            printed += [f"add {listed(vids)} {way}".strip()] if vids else []
        elif vids != EVERY:
            printed.append(listed(vids) or "none")
    if general and 1 not in held:
        printed.append("remove 1")
    lines[:] = [node for node in lines if not node.text.startswith(statement)]
    lines[:0] = [line(f"{statement}{text}") for text in printed]


def add(statement: str, command: str, lines: list[Any], line: Callable[[str], Any]) -> None:
    """Carry out a command that adds to a list, or takes from it with ``no``; a list of all is printed as such."""
    held: set[int] = set()
    for text in [*(node.text for node in lines if node.text.startswith(statement)), command]:
        words = text.removeprefix("no ").removeprefix(statement)
        vids = EVERY if words == "all" else numbers(words)
        held = held - vids if text.startswith("no ") else held | vids
    lines[:] = [node for node in lines if not node.text.startswith(statement)]
    lines[:0] = [line(f"{statement}{'all' if held == EVERY else listed(held)}")] if held else []
