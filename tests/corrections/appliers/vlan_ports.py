"""VLANs that list their ports: a port is untagged in one VLAN at most, and in none only where it is tagged in some.

From memory of the ProVision command reference: a port that is put untagged into a VLAN leaves the one that it was
untagged in, a port that leaves its last VLAN falls into VLAN 1, and leaving VLAN 1 for none is refused.
"""

from __future__ import annotations

import re
from typing import Any

WAYS = ("untagged", "tagged")
Members = dict[tuple[int, str], set[str]]
"""Ports by VLAN and way."""
_COMMAND = re.compile(r"(?P<no>no )?vlan (?P<vid>\d+)(?: (?P<way>(?:un)?tagged) (?P<ports>\S+))?")


def each_port(commands: list[str]) -> list[str]:
    """Return commands in which a block over several ports is given to each of them."""
    found: list[str] = []
    at: list[str] = []
    below: list[str] = []
    for line in [*commands, ""]:
        if at and line.startswith(" "):
            below.append(line)
            continue
        found += [text for port in at for text in (f"interface {port}", *below)]
        match = re.fullmatch(r"interface (\S+)", line)
        at, below = (ports(match[1]) if match else []), []
        if not match:
            found.append(line)
    return found[:-1]


def ports(text: str) -> list[str]:
    """Return the ports of a list such as ``1-7,A3,1/9-1/12,Trk1``."""
    found = []
    for piece in text.split(","):
        first, _, last = piece.partition("-")
        slot, start = _split(first)
        assert not last or _split(last)[0] == slot, text
        found += [f"{slot}{number}" for number in range(start, (_split(last)[1] if last else start) + 1)]
    return found


def listed(names: set[str]) -> str:
    """Return the list of some ports, bundles last."""
    runs: list[list[tuple[str, int]]] = []
    for slot, number in sorted(map(_split, names), key=lambda port: (port[0].startswith("Trk"), port)):
        if runs and runs[-1][-1] == (slot, number - 1):
            runs[-1].append((slot, number))
        else:
            runs.append([(slot, number)])
    ends = [[f"{slot}{number}" for slot, number in (run[0], run[-1])] for run in runs]
    return ",".join(first if first == last else f"{first}-{last}" for first, last in ends)


def take(within: str, command: str, device: Any) -> bool:
    """Carry out a command about the ports of a VLAN; return whether there is nothing more to do.

    Args:
        within: the first line of the block that the command is given in.
        command: e.g. ``untagged 7``, ``no vlan 10 tagged 7``, or ``no vlan 10``, which its ports leave.
        device: the stand-in of the layout by blocks.
    """
    held = {int(m[1]): node for node in device.root.below if (m := re.fullmatch(r"vlan (\d+)", node.text))}
    if re.fullmatch(r"vlan \d+", within):
        command = re.sub(r"^(no )?(?=(un)?tagged )", rf"\1{within} ", command)
    match = _COMMAND.fullmatch(command)
    if match is None or not (match["no"] or match["way"]):
        return False
    vid, away, gone = int(match["vid"]), match["no"] is not None, match["way"] is None
    if vid not in held:
        assert away, command
        return True
    members = {(number, way): _members(node, way) for number, node in held.items() for way in WAYS}
    if gone:
        _leave(members, vid, WAYS, members[vid, "untagged"] | members[vid, "tagged"])
    elif away:
        _leave(members, vid, (match["way"],), set(ports(match["ports"])))
    else:
        _enter(members, vid, match["way"], set(ports(match["ports"])))
    for number, node in held.items():
        left = (_members(node, "no untagged") | _members(node, "untagged")) - members[number, "untagged"]
        _write(node, "no untagged", left if number == 1 else set(), device)
        for way in WAYS:
            _write(node, way, members[number, way], device)
    return not gone


def _enter(members: Members, vid: int, way: str, asked: set[str]) -> None:
    assert asked <= set().union(*members.values()), asked
    for number, other in members:
        if number == vid or (way, other) == ("untagged", "untagged"):
            members[number, other] -= asked
    members[vid, way] |= asked


def _leave(members: Members, vid: int, ways: tuple[str, ...], asked: set[str]) -> None:
    asked = asked & set().union(*(members[vid, way] for way in ways))  # taking out what is not in is refused
    for way in ways:
        members[vid, way] -= asked
    lonely = asked - set().union(*members.values())
    assert not lonely or vid != 1, lonely
    members[1, "untagged"] |= lonely


def _split(port: str) -> tuple[str, int]:
    match = re.fullmatch(r"(\D*|\d+/\D*)(\d+)", port)
    assert match is not None, port
    return match[1], int(match[2])


def _members(node: Any, way: str) -> set[str]:
    return {port for each in node.below if each.text.startswith(f"{way} ") for port in ports(each.text.split()[-1])}


def _write(node: Any, way: str, names: set[str], device: Any) -> None:
    """Write the list of a VLAN's ports anew, where it stood or below the VLAN's name."""
    old = [i for i, each in enumerate(node.below) if each.text.startswith(f"{way} ")]
    named = [i + 1 for i, each in enumerate(node.below) if each.text.startswith("name ")]
    node.below = [each for i, each in enumerate(node.below) if i not in old]
    if names:
        node.below.insert((old or named or [0])[0], device.line(node, f"{way} {listed(names)}"))
