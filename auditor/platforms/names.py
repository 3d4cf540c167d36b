"""How a platform spells its interfaces, and names VLANs that have no name; plan and capture meet in these names."""

from __future__ import annotations

import re
from functools import cache

from auditor.core.port_names import MOST_NAMES, expand_names
from auditor.core.values import vlan_id
from auditor.platforms import catalogue
from auditor.platforms.definition import Platform, VlanTable

IMPOSSIBLE = "impossible"
"""The kind of what has the number of no VLAN in its name, or one that no device counts up to."""

_MOST_PORTS = 1024
"""More than any switch or stack has; a range of VLAN interfaces may be longer."""
_BEYOND = re.compile(r"\d{16}")
"""A number in no name: those of Linux, which may hold a whole MAC address, have 15 characters at most (IFNAMSIZ)."""
_ANY = re.compile(r".*", re.DOTALL)
_LONG = re.compile(r"[A-Za-z][A-Za-z-]*\d[\w/.:]*")
_PLACE = re.compile(r"[\d/.:]+")
"""Where in the device an interface is, as it stands behind its kind."""
_BARE = re.compile(r"(?:\d+/)*(?:[A-Za-z]+\d+|0*[1-9]\d*)")


class NameBook:
    """How a platform spells its interfaces: the long name of a short one, and what a name tells of the interface.

    ``tells_made``: whether some interfaces are there only where a line makes them.
    """

    def __init__(self, platform: Platform) -> None:
        self._long = platform.interfaces.names
        self._ranges = platform.interfaces.ranges
        self._kinds = [(re.compile(name), kind) for name, kind in platform.interfaces.kinds.items()]
        self._whole = _any_whole([pattern for pattern, _ in self._kinds if "whole" in pattern.groupindex])
        self.tells_made = any("made" in pattern.groupindex for pattern, _ in self._kinds)
        self._canonical: dict[str, str] = {}
        self._expanded: dict[str, list[str]] = {}
        self._told: dict[str, tuple[str, dict[str, str]]] = {}
        self._made: set[str] = set()
        self._apart: set[str] = set()

    def canonical(self, name: str) -> str:
        """Return the long spelling: ``gi1/0/1`` and ``GigabitEthernet 1/0/1`` are ``GigabitEthernet1/0/1``."""
        if not self._long:
            return name.strip()
        known = self._canonical.get(name)
        if known is None:
            known = self._canonical[name] = self._spell(name.strip())
        return known

    def _spell(self, name: str) -> str:
        for long in self._long:
            rest = name[len(long) :].lstrip()
            if name.lower().startswith(long.lower()) and rest[:1].isdecimal():
                return long + rest.replace(" ", "")
        match = re.fullmatch(r"([A-Za-z][A-Za-z-]*)\s*(\d.*)", name)
        if not match:
            return name
        letters = match[1].lower()
        for long in self._long:
            if long.lower().startswith(letters):
                return long + match[2].replace(" ", "")
        return name

    def planned(self, text: str) -> list[str]:
        """Return the names that the shorthand of a plan stands for, spelt long.

        Raises:
            ValueError: a range that cannot be.
        """
        return self._possible([self.canonical(name) for name in expand_names(text, self._whole)])

    def _possible(self, names: list[str]) -> list[str]:
        """Return the names of a range, unless there are more ports in it than a device has.

        Raises:
            ValueError: there are.
        """
        if len(names) > _MOST_PORTS and self.tell(names[0])[0] == "port":
            raise ValueError(f"{names[0]} to {names[-1]}: the range is longer than any device has ports")
        return names

    def names(self, text: str) -> list[str]:
        """Return the names that a word or a range stands for, spelt long.

        Raises:
            ValueError: a range that cannot be, no name of an interface, or a VLAN that cannot be in it.
        """
        known = self._expanded.get(text)
        if known is None:
            form = _BARE if self._ranges else _LONG if self._long else _ANY
            pieces = text.split(",") if self._ranges else [text]
            plain = form is _ANY or ("-" not in text and "," not in text)
            listed = [text] if plain else []
            for piece in [] if plain else pieces:
                listed += expand_names(piece, self._whole)
                if len(listed) > MOST_NAMES:
                    raise ValueError(f"{text[:40]!r}… names more ports than any device has")
            known = self._possible([self.canonical(name) for name in listed])
            for name in known:
                if not (form.fullmatch(name) or self._whole.fullmatch(name)) or not self._is_known(name):
                    raise ValueError(f"{name!r} is no name of an interface")
                if self.tell(name)[0] == IMPOSSIBLE:
                    raise ValueError(f"{name!r} is no name of an interface: a number in it cannot be")
            self._expanded[text] = known
        return known

    def is_name(self, text: str) -> bool:
        """Return whether a word can be the name of an interface."""
        try:
            self.names(text)
        except ValueError:
            return False
        return True

    def _is_known(self, name: str) -> bool:
        """Return whether a name begins as those of some kind do, where a dialect spells all of them out."""
        if not self._long or self._ranges:
            return True
        if any(_PLACE.fullmatch(name[len(long) :]) for long in self._long if name.startswith(long)):
            return True
        kinds = [match for pattern, _ in self._kinds if (match := pattern.fullmatch(name))]
        return any("parent" not in match.groupdict() or self._is_known(match["parent"]) for match in kinds)

    def tell(self, name: str) -> tuple[str, dict[str, str]]:
        """Return the kind of an interface by its name, and the parts of the name that mean something."""
        told = self._told.get(name)
        if told is None:
            told = ("port", {})
            for pattern, kind in self._kinds:
                if match := pattern.fullmatch(name):
                    parts = {group: text for group, text in match.groupdict().items() if text is not None}
                    parts.pop("whole", None)
                    if parts.pop("made", None):
                        self._made.add(name)
                    if parts.pop("apart", None):
                        self._apart.add(name)
                    told = (kind, parts)
                    break
            if _BEYOND.search(name) or any(not _is_vlan(told[1].get(part, "1")) for part in ("vid", "vlan_tag")):
                told = (IMPOSSIBLE, {})
            self._told[name] = told
        return told

    def is_apart(self, name: str) -> bool:
        """Return whether a port of a name can be in no VLAN."""
        self.tell(name)
        return name in self._apart

    def is_made(self, name: str) -> bool:
        """Return whether an interface of a name is there only where a line makes it."""
        self.tell(name)
        return name in self._made


def _any_whole(patterns: list[re.Pattern[str]]) -> re.Pattern[str]:
    """Return one pattern for what is a name, whatever it looks like; without names of groups, none comes twice."""
    return re.compile("|".join(re.sub(r"\(\?P<\w+>", "(?:", each.pattern) for each in patterns) or r"(?!)")


def _is_vlan(text: str) -> bool:
    try:
        vlan_id(text)
    except ValueError:
        return False
    return True


@cache
def names_of(platform: str) -> NameBook:
    """Return the name book of a platform.

    Raises:
        PlatformError: no such platform, or its data are broken.
    """
    return NameBook(catalogue.get(platform))


def vlan_name(table: VlanTable, vid: int) -> str | None:
    """Return the default name of a VLAN; ``None`` where it has none."""
    return table.built_in.get(vid) or (table.default_names and table.default_names.format(vid=vid))
