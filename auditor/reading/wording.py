"""What the reader took from each line, as redaction needs it: names that stay, passphrases, text that is only prose."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any

from auditor.reading.fields import HELD_BLANK
from auditor.reading.resolve.facts import Facts
from auditor.reading.source import Kind, Lines
from auditor.redact import LineRead, without_written

PASSPHRASE = "passphrase"
_AS_THEY_ARE = frozenset([PASSPHRASE, "passphrase_form", "ssid", "ssids", "hostname"])
"""Fields in which nothing is looked for: what is broadcast for everybody to see is no secret."""
_PROSE = frozenset([Kind.NOISE, Kind.LITERAL])


class Wording:
    """The words of a capture that were read.

    Attributes:
        written: by a text without the secrets that somebody had written into it, what stood there.
    """

    def __init__(self) -> None:
        self.written: dict[str, set[str]] = {}
        self._facts: Facts = {}
        self._files: list[Lines] = []
        self._lines: dict[tuple[int, int], tuple[dict[str, str], set[str]]] | None = None

    def shown(self, values: dict[str, Any]) -> dict[str, Any]:
        """Return the values of a row as they may be shown: without what somebody has written into names."""
        changed = {}
        for name, value in values.items():
            if name in _AS_THEY_ARE:
                continue
            if isinstance(value, str):
                if (text := self._shown(value)) != value:
                    changed[name] = text
            elif isinstance(value, list) and any(map(self._differs, value)):
                changed[name] = [self._shown(one) if isinstance(one, str) else one for one in value]
        return {**values, **changed} if changed else values

    def _differs(self, value: Any) -> bool:
        return isinstance(value, str) and self._shown(value) != value

    def _shown(self, text: str) -> str:
        found = without_written(text)
        if found != text:
            self.written.setdefault(found, set()).add(text)
        return found

    def keep(self, facts: Facts, lines: list[Lines]) -> None:
        """Keep what was read; what that is for each line is worked out when somebody asks for it."""
        self._facts, self._files = facts, lines

    def _by_line(self) -> dict[tuple[int, int], tuple[dict[str, str], set[str]]]:
        """Return by file and index of a line the texts that stay, by what stands there, and the passphrases."""
        if self._lines is None:
            self._lines = {}
            noted: set[tuple[int, int, str, str]] = set()
            for fact in (fact for rows in self._facts.values() for fact in rows):
                for name, value, numbers in fact.each():
                    for text in [value] if isinstance(value, str) else value if isinstance(value, list) else ():
                        once = (fact.head.source, numbers[0], name, text)
                        if isinstance(text, str) and text and (len(numbers) == 1 or once not in noted):
                            noted.add(once)
                            for number in numbers:
                                self._note(self._lines.setdefault((once[0], number - 1), ({}, set())), name, text)
        return self._lines

    def _note(self, line: tuple[dict[str, str], set[str]], name: str, text: str) -> None:
        shown, passphrases = line
        if name == PASSPHRASE:
            passphrases.add(text)
            return
        for stood in (text, *self.written.get(text, ())):
            shown[stood] = text
            if " " in stood:
                shown[stood.replace(" ", HELD_BLANK)] = text.replace(" ", HELD_BLANK)

    def of(self, source: int) -> Callable[[int], LineRead]:
        """Return what tells what was read of a line of a file, by its index."""
        kinds, lines = self._files[source].kinds, self._by_line()

        def read(index: int) -> LineRead:
            shown, passphrases = lines.get((source, index), ({}, ()))
            return LineRead(shown, passphrases, prose=index < len(kinds) and kinds[index] in _PROSE)

        return read

    def altered(self, source: int) -> Iterable[int]:
        """Return the indexes of the lines that are not shown as they stand."""
        return sorted(
            index
            for (file, index), (shown, passphrases) in self._by_line().items()
            if file == source and (passphrases or any(stood != text for stood, text in shown.items()))
        )
