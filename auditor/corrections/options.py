"""Sections of options and lists (UCI): what stands in one, and the commands that change, make and take away one."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from auditor.areas.reading import Block
from auditor.platforms.render import fit, part

_LINE = r"(?:(?:option|list)\s+['\"]?{0}['\"]?\s+|[^=\s]+\.{0}=)('[^']*'|\"[^\"]*\"|.*?)(?:\s+#.*)?"
_PLAIN = r"[^\\'\"]*"
_YES, _NO = ("1", "yes", "on", "true"), ("0", "no", "off", "false")
_RENUMBERED = (
    "a section without a name can only be deleted by its number, and those after it are numbered anew: do it by hand"
)


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

    def values(self) -> dict[str, Callable[..., Any]]:
        """Return what templates call, by name."""
        names = ("kind", "ref", "q", "val", "words_in", "says", "rows", "option", "amend", "listing", "fresh", "drop")
        return {name: getattr(self, name) for name in names}

    def kind(self, block: Block) -> str:
        """Return the kind of a section."""
        return block.header.split(" ")[0]

    def ref(self, block: Block) -> str:
        """Return what commands call a section."""
        kind, _, name = block.header.partition(" ")
        return f"{self.packages.get(kind, 'network')}." + (
            fit(name, r"[\w-]+") if name else f"@{kind}[{block.ordinal}]"
        )

    def q(self, text: Any) -> str:
        """Return a text in quotes."""
        return "'" + str(text).replace("'", "'\\''") + "'"

    def val(self, block: Block, option: str) -> str:
        """Return an option's value, of several the last; empty where it is not there."""
        return next(iter(reversed(self._raw(block, option))), "")

    def words_in(self, block: Block, option: str) -> list[str]:
        """Return all words of an option, be it a list or one text."""
        return " ".join(self._raw(block, option)).split()

    def says(self, block: Block, option: str, yes: bool = True) -> bool:
        """Return whether an option says yes, or no."""
        return self.val(block, option) in (_YES if yes else _NO)

    def rows(self, kind: str, option: str = "", pattern: Any = "") -> list[Block]:
        """Return the sections of a kind; with an option, those in which it has a value of a pattern."""
        found = [block for block in self.blocks if self.kind(block) == kind]
        return [block for block in found if part([self.val(block, option)], str(pattern))] if option else found

    def option(self, block: Block, name: str, value: Any) -> str:
        """Return the command that gives an option a value or, where that is empty, takes it away."""
        was, place = self.val(block, name), f"{self.ref(block)}.{name}"
        listed = self._is_list(block, name)
        if was == str(value) and not (listed and value and len(self.words_in(block, name)) > 1):
            return ""
        if not self.undoing:
            return f"uci set {place}={self.q(value)}\n" if value else f"uci delete {place}\n"
        if not was:
            return f"uci delete {place}\n"
        if listed:
            back = [f"uci add_list {place}={self.q(word)}\n" for word in self.words_in(block, name)]
            return "".join([f"uci delete {place}\n" if value else "", *back])
        return f"uci set {place}={self.q(fit(was, _PLAIN))}\n"

    def amend(self, block: Block, name: str, gone: Iterable[str], come: Iterable[str]) -> str:
        """Return the commands that take words from an option, which is a list or one text, and add others."""
        old, gone, come = self.words_in(block, name), list(gone), list(come)
        if not self._is_list(block, name):
            kept = [word for word in old if word not in gone]
            return self.option(block, name, " ".join([*kept, *(word for word in come if word not in old)]))
        there = [word for word in gone if word in old]
        return self.listing(block, name, there, [word for word in come if word not in old])

    def listing(self, block: Block, name: str, gone: Iterable[str], come: Iterable[str]) -> str:
        """Return the commands that take entries from a list, and add others."""
        verbs = ("add_list", "del_list") if self.undoing else ("del_list", "add_list")
        steps = [(verb, text) for verb, texts in zip(verbs, (gone, come), strict=True) for text in texts]
        return "".join(f"uci {verb} {self.ref(block)}.{name}={self.q(text)}\n" for verb, text in steps)

    def fresh(
        self, place: str, kind: str, options: Mapping[str, Any], lists: Mapping[str, Iterable[str]] | None = None
    ) -> str:
        """Return the commands that make a section, by a name of its own, so that no other is numbered anew."""
        if self.undoing:
            return f"uci delete {place}\n"
        lines = [f"uci set {place}={kind}", *(f"uci set {place}.{name}={self.q(v)}" for name, v in options.items())]
        lines += [f"uci add_list {place}.{name}={self.q(v)}" for name, all_ in (lists or {}).items() for v in all_]
        return "".join(f"{line}\n" for line in lines)

    def drop(self, block: Block) -> str:
        """Return the command that removes a section; for the undo, the section as it was captured."""
        place, kind = self.ref(block), self.kind(block)
        alike = [each for each in self.blocks if each.file == block.file and self.kind(each) == kind]
        if "@" in place and any(each.ordinal > block.ordinal for each in alike):
            return self.by_hand(_RENUMBERED)
        if not self.undoing:
            return f"uci delete {place}\n"
        package, named = place.split(".")[0], "@" not in place
        back = place if named else f"{place.split('[')[0]}[-1]"
        lines = [f"uci set {place}={kind}" if named else f"uci add {package} {kind}"]
        for line in part(block.lines, "((?:option|list) .*)"):
            verb, name, raw = line.split(None, 2)
            lines.append(
                f"uci {'set' if verb == 'option' else 'add_list'} {back}.{name}={self.q(fit(_bare(raw), _PLAIN))}"
            )
        return "".join(f"{line}\n" for line in lines)

    def _raw(self, block: Block, option: str) -> list[str]:
        return [_bare(raw) for raw in part(block.lines, _LINE.format(option))]

    def _is_list(self, block: Block, option: str) -> bool:
        return bool(part(block.lines, rf"list\s+{option}\s.*")) or not self.val(block, option)


def _bare(raw: str) -> str:
    return raw[1:-1] if raw[:1] in ("'", '"') and raw[0] == raw[-1] else raw
