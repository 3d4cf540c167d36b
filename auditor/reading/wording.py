"""What the reader took from each line, as redaction needs it: names that stay, passphrases, text that is only prose."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from auditor.reading.fields import HELD_BLANK
from auditor.reading.row_models import ReadRows
from auditor.reading.source import Disposition, Lines
from auditor.redact import NOTHING_READ, LineRead, without_written
from auditor.redact.words import is_option

_SEALED = frozenset(["passphrase", "older_passphrase"])
"""Fields that hold a secret, which is compared."""
_AS_THEY_ARE = _SEALED | {"passphrase_form", "ssid", "ssids", "hostname"}
"""Fields in which nothing is looked for: what is broadcast for everybody to see is no secret."""
_KEYWORDS = frozenset(["passphrase_form"])
"""Fields that hold the dialect's own words: none of them is a name, and what follows may well be a secret."""
_FREE = frozenset(["description", "label", "value", "options"])
"""Fields of what means nothing to the device itself."""
_COMPOUND = re.compile(r"\w+(?:[-_]\w+)+")
"""A name that somebody has made up of words, where no field says that it is one."""
_PROSE = frozenset([Disposition.NOISE, Disposition.LITERAL])
_NOTHING: frozenset[str] = frozenset()
_NONE_HELD: Mapping[int, frozenset[str]] = MappingProxyType({})
_ONLY_PROSE = LineRead(prose=True)


@dataclass(slots=True)
class _LineRead:
    """What was read of a line, as long as more of it may be."""

    shown: dict[str, str] = field(default_factory=dict)
    free: set[str] = field(default_factory=set)
    named: set[str] = field(default_factory=set)
    passphrases: set[str] = field(default_factory=set)


class Wording:
    """The words of a capture that were read.

    Attributes:
        written: by a text without the secrets that was written into it, what stood there.
    """

    def __init__(self) -> None:
        self.written: dict[str, set[str]] = {}
        self._rows = ReadRows()
        self._files: list[Lines] = []
        self._lines: dict[tuple[int, int], _LineRead] | None = None

    def shown(self, values: dict[str, Any]) -> dict[str, Any]:
        """Return the values of a row as they may be shown: without secrets that were written into names."""
        changed: dict[str, Any] = {}
        for name, value in values.items():
            if name in _AS_THEY_ARE:
                continue
            if isinstance(value, str):
                if (text := self._shown(value)) != value:
                    changed[name] = text
            elif isinstance(value, tuple) and any(map(self._differs, value)):
                changed[name] = tuple(self._shown(one) if isinstance(one, str) else one for one in value)
        return {**values, **changed} if changed else values

    def _differs(self, value: Any) -> bool:
        return isinstance(value, str) and self._shown(value) != value

    def _shown(self, text: str) -> str:
        found = without_written(text)
        if found != text:
            self.written.setdefault(found, set()).add(text)
        return found

    def keep(self, read_rows: ReadRows, lines: list[Lines]) -> None:
        """Keep what was read; what that is for each line is worked out when asked for."""
        self._rows, self._files = read_rows, lines

    def _by_line(self) -> dict[tuple[int, int], _LineRead]:
        """Return by file and index of a line what was read of it."""
        if self._lines is None:
            self._lines = {}
            noted: set[tuple[int, int, str, str]] = set()
            for row in self._rows:
                for name, value, numbers in row.each():
                    for text in value if isinstance(value, tuple) else (value,):
                        once = (row.head.source, numbers[0], name, text)
                        if isinstance(text, str) and text and (len(numbers) == 1 or once not in noted):
                            noted.add(once)
                            for number in numbers:
                                self._note(self._lines.setdefault((once[0], number - 1), _LineRead()), name, text)
        return self._lines

    def _note(self, line: _LineRead, name: str, text: str) -> None:
        if name in _SEALED:
            line.passphrases.add(text)
            return
        if name in _KEYWORDS:
            line.shown[text] = text
            return
        for stood in (text, *self.written.get(text, ())):
            for spelling, shown in ((stood, text), (stood.replace(" ", HELD_BLANK), text.replace(" ", HELD_BLANK))):
                line.shown[spelling] = shown
                if name == "name" or (name not in _FREE and _COMPOUND.fullmatch(spelling) and not is_option(spelling)):
                    line.named.add(spelling)
                if name in _FREE:
                    line.free.add(spelling)

    def of(self, source: int, held: Mapping[int, frozenset[str]] = _NONE_HELD) -> Callable[[int], LineRead]:
        """Return what tells what was read of a line of a file, by its index; ``held`` is what else stays in a line."""
        kinds, lines, delimiters = self._files[source].kinds, self._by_line(), self._files[source].delimiters

        def read(index: int) -> LineRead:
            found = lines.get((source, index))
            prose = index < len(kinds) and kinds[index] in _PROSE
            stays = held.get(index, _NOTHING)
            if index + 1 in delimiters:
                return LineRead(prose=prose, held=stays | {delimiters[index + 1]})
            if found is None:
                return LineRead(prose=prose, held=stays) if stays else _ONLY_PROSE if prose else NOTHING_READ
            return LineRead(found.shown, found.free, found.passphrases, prose=prose, named=found.named, held=stays)

        return read

    def altered(self, source: int) -> Iterable[int]:
        """Return the indexes of the lines that are not shown as they stand."""
        return sorted(
            index
            for (file, index), line in self._by_line().items()
            if file == source and (line.passphrases or any(stood != text for stood, text in line.shown.items()))
        )
