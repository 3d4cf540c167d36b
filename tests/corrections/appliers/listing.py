"""A table of VLANs beside the configuration, as ``show vlan brief`` prints it: number, name, status, ports."""

from __future__ import annotations

import re


class Listing:
    """The table, and what commands about VLANs do to it."""

    def __init__(self, text: str) -> None:
        self.rows = text.split("\n")
        self.vlan = 0

    def text(self) -> str:
        """Return the table as text."""
        return "\n".join(self.rows)

    def take(self, text: str, *, deeper: bool) -> bool:
        """Carry out a command about a VLAN; return whether it was one."""
        if not deeper:
            match = re.fullmatch(r"(no )?vlan (\d+)", text)
            self.vlan = int(match[2]) if match else 0
            if match and match[1]:
                self.rows = [row for row in self.rows if not re.match(rf"{self.vlan} ", row)]
            elif match and self.at is None:
                self.add(f"VLAN{self.vlan:04}")
            return match is not None
        if not self.vlan or self.at is None:
            return False
        name, status = text.removeprefix("name "), text.removeprefix("state ")
        if text == "no name":
            self.write(name=f"VLAN{self.vlan:04}")
        elif name != text:
            self.write(name=name)
        elif status != text or text in ("shutdown", "no shutdown"):
            self.write(status={"shutdown": "act/lshut", "state suspend": "suspended"}.get(text, "active"))
        return True

    @property
    def at(self) -> int | None:
        """Where the VLAN's row is."""
        return next((i for i, row in enumerate(self.rows) if re.match(rf"{self.vlan} ", row)), None)

    def add(self, name: str) -> None:
        """Put a new row in its place by number."""
        numbers = [(i, int(m[0])) for i, row in enumerate(self.rows) if (m := re.match(r"\d+", row))]
        after = [i for i, number in numbers if number > self.vlan]
        self.rows.insert(after[0] if after else numbers[-1][0] + 1, f"{self.vlan:<4} {name:<32} active")

    def write(self, name: str = "", status: str = "") -> None:
        """Change the VLAN's row."""
        assert self.at is not None
        row = self.rows[self.at]
        old = re.fullmatch(r"\d+ +(\S.*?) +(active|act/lshut|suspended)\b(.*)", row)
        assert old is not None
        self.rows[self.at] = f"{self.vlan:<4} {name or old[1]:<32} {status or old[2]:<9}{old[3]}".rstrip()
