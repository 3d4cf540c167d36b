"""Port shorthand: ranges and lists of names as people write them on plans."""

from __future__ import annotations

import re
from collections.abc import Iterable

MOST_NAMES = 4096
"""More ports than any device has, and as many interfaces as there are VLANs."""


def expand_names(text: str, whole: re.Pattern[str] = re.compile(r"(?!)")) -> list[str]:
    """Expand port shorthand: ``GigabitEthernet1/0/1-12``, ``ether2,ether5-7``, ``1/0/1,3``.

    A piece of digits alone takes over what stands before the last number of the piece in front of it. What ``whole``
    matches is a name, though it looks like a range.

    Raises:
        ValueError: a range runs backwards, runs over different ports or is longer than any device has ports.
    """
    names: list[str] = []
    stem = ""
    for piece in (part.strip() for part in text.split(",")):
        if not piece:
            raise ValueError(f"{text!r}: empty entry between commas")
        match = re.fullmatch(r"(.*?)(\d+)\s*-\s*(.*?)(\d+)", piece)
        if match and not whole.fullmatch(piece) and "/" in match[3] and match[3].lower() != match[1].lower():
            raise ValueError(f"{piece!r}: the ends of the range are not ports of the same series")
        if match and not whole.fullmatch(piece) and match[3].lower() in ("", match[1].lower()):
            prefix, first, last = match[1], int(match[2]), int(match[4])
            prefix = prefix or stem
            if first > last:
                raise ValueError(f"{piece!r}: the range runs backwards")
            if len(names) + last - first >= MOST_NAMES:
                raise ValueError(f"{piece!r}: the range is longer than any device has ports")
            names.extend(f"{prefix}{number}" for number in range(first, last + 1))
        elif piece.isdecimal():
            prefix = stem
            names.append(f"{prefix}{piece}")
        else:
            single = re.fullmatch(r"(.*?)\d*", piece)
            prefix = single[1] if single else ""
            names.append(piece)
        stem = prefix
    return names


def shorten_names(names: Iterable[str]) -> str:
    """Write port names as people do, runs of them as ranges: ``GigabitEthernet1/0/1-8, GigabitEthernet1/0/12``.

    The order stays; a name whose number has leading zeros, or a dash before it, makes no range.
    """
    runs: list[tuple[str, int, int]] = []
    for name in names:
        match = re.fullmatch(r"(.*?)(0|[1-9]\d{0,8})", name, re.ASCII | re.DOTALL)
        if match is None or match[1][-1:].isdigit() or match[1].endswith("-"):
            runs.append((name, -1, -1))
        elif runs and runs[-1][0] == match[1] and runs[-1][2] == int(match[2]) - 1:
            runs[-1] = (match[1], runs[-1][1], int(match[2]))
        else:
            runs.append((match[1], int(match[2]), int(match[2])))
    return ", ".join(_run_text(*run) for run in runs)


def _run_text(stem: str, first: int, last: int) -> str:
    if last < 0:
        return stem
    return f"{stem}{first}" if first == last else f"{stem}{first}-{last}"
