"""Sections of options and lists (UCI): what stands in one, and the commands that change, make and take away one."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from auditor.areas.block import Block
from auditor.corrections.rows import Row
from auditor.platforms.render import fit, part

_LINE = r"(?:(?:option|list)\s+['\"]?KEY['\"]?\s+|[^=\s]+\.KEY=)('[^']*'|\"[^\"]*\"|.*?)(?:\s+#.*)?"
_PLAIN = r"[^\\'\"]*"
_YES, _NO = ("1", "yes", "on", "true"), ("0", "no", "off", "false")
_RENUMBERED = (
    "a section without a name can only be deleted by its number, and those after it are numbered anew: do it by hand"
)


class Section(Row):
    """A section of options, of which the later one of a name holds."""

    def __getitem__(self, words: str) -> str:
        return next((text for word in words.split("|") for text in reversed(self.said(word))), "")

    @property
    def file(self) -> str:
        """The file that it stands in."""
        return self.block.file if self.block else ""

    @property
    def kind(self) -> str:
        """The first word of its first line."""
        return self.header.partition(" ")[0]

    @property
    def name(self) -> str:
        """What it is called, if it has a name."""
        return self.header.partition(" ")[2]

    def said(self, word: str) -> list[str]:
        """Return all texts of an option or list."""
        return [_bare(raw) for raw in part(self.lines, self.word.replace("KEY", word))]

    def listed(self, word: str) -> list[str]:
        """Return all words of an option, be it a list or one text."""
        return " ".join(self.said(word)).split()

    def is_list(self, word: str) -> bool:
        """Return whether it is a list, or not there."""
        return bool(part(self.lines, rf"list\s+{word}\s.*")) or not self[word]


@dataclass(slots=True)
class Options:
    """Reads and writes options, or for the undo what was captured of them.

    Attributes:
        blocks: the sections of the capture: a first line is the kind and, where it has one, the name.
        undoing: whether the undo is asked for.
        by_hand: says that there is no correction.
        packages: by kind, the file that its sections are in; ``network`` for all others.
    """

    blocks: Sequence[Block]
    undoing: bool
    by_hand: Callable[[str], str]
    packages: Mapping[str, str] = field(default_factory=dict)

    def values(self) -> dict[str, Any]:
        """Return what templates use, by name."""
        names = ("rows", "option", "amend", "listing", "fresh", "drop")
        return {name: getattr(self, name) for name in names} | {"yes": _YES, "no": _NO}

    def ref(self, row: Section) -> str:
        """Return what commands call a section."""
        ordinal = row.block.ordinal if row.block else 0
        return f"{self.packages.get(row.kind, 'network')}." + (
            fit(row.name, r"[\w-]+") if row.name else f"@{row.kind}[{ordinal}]"
        )

    def q(self, text: Any) -> str:
        """Return a text in quotes."""
        return "'" + str(text).replace("'", "'\\''") + "'"

    def rows(self, kind: str, words: str = "", value: Any = "", like: str = "") -> list[Section]:
        """Return the sections of a kind; with words, those that have a value for the first said, or a like one."""
        found = [Section(_LINE, block) for block in self.blocks if f"{block.header} ".startswith(f"{kind} ")]
        if like:
            return [row for row in found if part([row[words]], like)]
        return [row for row in found if row[words] == str(value)] if words else found

    def option(self, row: Section, name: str, value: Any) -> str:
        """Return the command that gives an option a value or, where that is empty, takes it away."""
        was, place = row[name], f"{self.ref(row)}.{name}"
        listed = row.is_list(name)
        if was == str(value) and not (listed and value and len(row.listed(name)) > 1):
            return ""
        if not self.undoing:
            return f"uci set {place}={self.q(value)}\n" if value else f"uci delete {place}\n"
        if not was:
            return f"uci delete {place}\n"
        if listed:
            back = [f"uci add_list {place}={self.q(word)}\n" for word in row.listed(name)]
            return "".join([f"uci delete {place}\n" if value else "", *back])
        return f"uci set {place}={self.q(fit(was, _PLAIN))}\n"

    def amend(self, row: Section, name: str, gone: Iterable[str], come: Iterable[str]) -> str:
        """Return the commands that take words from an option, which is a list or one text, and add others."""
        old, gone, come = row.listed(name), list(gone), list(come)
        if not row.is_list(name):
            kept = [word for word in old if word not in gone]
            return self.option(row, name, " ".join([*kept, *(word for word in come if word not in old)]))
        there = [word for word in gone if word in old]
        return self.listing(row, name, there, [word for word in come if word not in old])

    def listing(self, row: Section, name: str, gone: Iterable[str], come: Iterable[str]) -> str:
        """Return the commands that take entries from a list, and add others."""
        verbs = ("add_list", "del_list") if self.undoing else ("del_list", "add_list")
        steps = [(verb, text) for verb, texts in zip(verbs, (gone, come), strict=True) for text in texts]
        return "".join(f"uci {verb} {self.ref(row)}.{name}={self.q(text)}\n" for verb, text in steps)

    def fresh(
        self, place: str, kind: str, options: Mapping[str, Any], lists: Mapping[str, Iterable[str]] | None = None
    ) -> str:
        """Return the commands that make a section, by a name of its own, so that no other is numbered anew."""
        if self.undoing:
            return f"uci delete {place}\n"
        lines = [f"uci set {place}={kind}", *(f"uci set {place}.{name}={self.q(v)}" for name, v in options.items())]
        lines += [f"uci add_list {place}.{name}={self.q(v)}" for name, all_ in (lists or {}).items() for v in all_]
        return "".join(f"{line}\n" for line in lines)

    def drop(self, row: Section) -> str:
        """Return the command that removes a section; for the undo, the section as it was captured."""
        place, kind = self.ref(row), row.kind
        alike = [each.block for each in self.rows(kind) if each.file == row.file]
        if "@" in place and alike[-1] != row.block:
            return self.by_hand(_RENUMBERED)
        if not self.undoing:
            return f"uci delete {place}\n"
        package, named = place.split(".")[0], "@" not in place
        back = place if named else f"{place.split('[')[0]}[-1]"
        lines = [f"uci set {place}={kind}" if named else f"uci add {package} {kind}"]
        for line in part(row.lines, "((?:option|list) .*)"):
            verb, name, raw = line.split(None, 2)
            lines.append(
                f"uci {'set' if verb == 'option' else 'add_list'} {back}.{name}={self.q(fit(_bare(raw), _PLAIN))}"
            )
        return "".join(f"{line}\n" for line in lines)


def _bare(raw: str) -> str:
    return raw[1:-1] if raw[:1] in ("'", '"') and raw[0] == raw[-1] else raw
