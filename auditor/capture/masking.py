"""Captures without their secrets: by rule, and word for word where a secret is known."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from auditor.areas import Reading, read
from auditor.capture.interface import Captured, CaptureSource, NotCaptured, NotReadable
from auditor.passphrases import from_type7, is_keyed_digest, keyed_digest, planned_in
from auditor.plan.loader import Plan
from auditor.platforms import catalogue
from auditor.reading.source import CaptureFile, behind_pager, overlong_in, overlong_words, shown_lines
from auditor.redact import KnownSecrets

_Place = tuple[int, int]
"""A line: the number of its file, and its index in it."""
_WORDS = re.compile(r"[A-Za-z][A-Za-z0-9-]*")
_PIECES = re.compile(r"[^\W_]+|[\W_]")
_NOTHING: frozenset[str] = frozenset()
_MOST_READINGS = 200
"""Readings after which a capture is given up of which another thing is read without its secrets."""


def without_secrets(
    platform: str, files: list[CaptureFile], named: str = "", secrets: Iterable[str] = ()
) -> list[CaptureFile]:
    """Return a capture with every secret taken out, a Wi-Fi passphrase that can be read replaced by a keyed digest.

    What is read of it is the same, and a passphrase can still be compared.

    Args:
        platform: the device's platform.
        files: its capture.
        named: whose capture it is; where that is said, its digests are the same every time.
        secrets: secrets that are known: taken out wherever they stand, but where the reader takes one for a name, and
            where one is among the dialect's own words.
    """
    reading = read(platform, files)
    masking = _Masking(
        platform, files, reading, _seals(reading, named), KnownSecrets(secrets, catalogue.vocabulary(platform))
    )
    return masking.files()


class _Masking:
    """Takes the secrets out of a capture, and no more than can be taken out of a line that is read.

    What is read must stay what it is. Where the rules for secrets take a line for something else than the reader does,
    what the reader needs of it stays: at first the dialect's own words, then the signs around them, at last whatever it
    turns out that the line is read by.
    """

    def __init__(
        self,
        platform: str,
        files: list[CaptureFile],
        reading: Reading,
        keyed_digests: dict[str, str],
        known: KnownSecrets,
    ) -> None:
        self._platform = platform
        self._files = files
        self._reading = reading
        self._seals = keyed_digests
        self._known = known
        self._shown = [[line.rstrip() for line in shown_lines(file.data)] for file in files]
        self._starts = [[behind_pager(line) for line in lines] for lines in self._shown]
        self._readings = 0

    def files(self) -> list[CaptureFile]:
        """Return the capture without its secrets, of which the same is read.

        Raises:
            ValueError: it would take too long to find out what of the lines is needed.
        """
        lines = self._lines({})
        if lines == self._shown or self._alike(lines):
            return self._as_files(lines)
        changed = [
            (source, index)
            for source, (before, after) in enumerate(zip(self._shown, lines, strict=True))
            for index, (one, other) in enumerate(zip(before, after, strict=True))
            if one != other
        ]
        after = read(self._platform, self._as_files(lines)).lines
        struck = [
            place
            for place in changed
            if self._reading.lines[place[0]].kinds[place[1]] != after[place[0]].kinds[place[1]]
        ]
        for needed in (self._words, self._words_and_signs):
            held = {place: needed(place) for place in struck}
            if struck and self._alike(lines := self._lines(held)):
                return self._as_files(lines)
        held = {place: frozenset(_PIECES.findall(self._text(place))) for place in changed}
        self._settle(held, changed)
        return self._as_files(self._lines(held))

    def _settle(self, held: dict[_Place, frozenset[str]], places: list[_Place]) -> None:
        """Hold no more in some lines than what they are read by; with all held that is said, the same is read."""
        free = dict.fromkeys(places, _NOTHING)
        if self._alike(self._lines({**held, **free})):
            held.update(free)
        elif len(places) > 1:
            middle = len(places) // 2
            self._settle(held, places[:middle])
            self._settle(held, places[middle:])
        else:
            (place,) = places
            for needed in (self._words(place), self._words_and_signs(place)):
                if self._alike(self._lines({**held, place: needed})):
                    held[place] = needed
                    return
            for piece in sorted(held[place], key=lambda piece: (-len(piece), piece)):
                fewer = held[place] - {piece}
                if self._alike(self._lines({**held, place: fewer})):
                    held[place] = fewer

    def _alike(self, lines: list[list[str]]) -> bool:
        self._readings += 1
        if self._readings > _MOST_READINGS:
            raise ValueError("the secrets cannot be taken out so that the same is read")
        return self._told(self._reading) == self._told(read(self._platform, self._as_files(lines)))

    def _told(self, reading: Reading) -> tuple[Any, ...]:
        """Return what is read of the capture: its settings, and what became of each line of a whole configuration.

        Secrets that are known are taken out of what means nothing to the device, too.
        """
        state: Any = reading.state
        if self._known.secrets:
            state = self._known.without(state.model_dump_json())
        kinds = [bytes(lines.kinds) for lines in reading.lines if not reading.problem]
        passphrases = {ssid: len(stored) for ssid, stored in reading.passphrases.items()}
        return state, kinds, passphrases, reading.problem, reading.not_shown, reading.born_as

    def _text(self, place: _Place) -> str:
        return self._shown[place[0]][place[1]]

    def _words(self, place: _Place) -> frozenset[str]:
        """Return the words of a line that are the dialect's own."""
        vocabulary = catalogue.vocabulary(self._platform)
        return frozenset(word for word in _WORDS.findall(self._text(place)) if word.lower() in vocabulary)

    def _words_and_signs(self, place: _Place) -> frozenset[str]:
        return self._words(place) | {piece for piece in _PIECES.findall(self._text(place)) if not piece.isalnum()}

    def _lines(self, held: Mapping[_Place, frozenset[str]]) -> list[list[str]]:
        """Return the lines of each file without secrets, with what is held in them."""
        found = []
        for source, (shown, starts) in enumerate(zip(self._shown, self._starts, strict=True)):
            texts = [line[start:] for line, start in zip(shown, starts, strict=True)]
            kept = {index: words for (file, index), words in held.items() if file == source}
            lines = self._reading.redacted(source, texts, self._seals, self._known, kept)
            found.append(
                [f"{full[:start]}{line}".rstrip() for full, start, line in zip(shown, starts, lines, strict=True)]
            )
        return found

    def _as_files(self, lines: list[list[str]]) -> list[CaptureFile]:
        return [
            CaptureFile(file.name, "".join(f"{line}\n" for line in texts).encode())
            for file, texts in zip(self._files, lines, strict=True)
        ]


def _seals(reading: Reading, named: str) -> dict[str, str]:
    """Return the keyed digest of each passphrase of a capture that can be read, by its text; digests are their own."""
    ssids: dict[tuple[str, str], list[str]] = {}
    keyed_digests: dict[str, str] = {}
    for ssid, stored in reading.passphrases.items():
        for one in stored:
            plain = from_type7(one.text) if one.form == "type7" else one.text if one.form == "plain" else None
            if is_keyed_digest(one.text):
                keyed_digests[one.text] = one.text
            elif plain:
                ssids.setdefault((one.text, plain), []).append(ssid)
    for (text, plain), served in ssids.items():
        keyed_digests[text] = keyed_digest(plain, *dict.fromkeys(served), named=named)
    return keyed_digests


def planned_secrets(plan: Plan, environment: Mapping[str, str]) -> frozenset[str]:
    """Return the passphrases that a plan names and an environment holds."""
    variables = (wifi.passphrase.env for wifi in plan.data.wifi.values() if wifi.passphrase)
    return frozenset(planned_in(environment, name) for name in variables) - {""}


class Guarded:
    """A source of captures in which no planned passphrase stands word for word; one can still be compared.

    A capture in which there is none stays as it is, unless ``always`` says that all secrets are taken out of all.

    Args:
        plan: the site's plan.
        source: where captures come from.
        environment: where passphrases are looked up; the process's environment if unsaid.
        always: whether all secrets are taken out of every capture.
    """

    def __init__(
        self, plan: Plan, source: CaptureSource, environment: Mapping[str, str] | None = None, *, always: bool = False
    ) -> None:
        self.plan = plan
        self._source = source
        self._secrets = planned_secrets(plan, os.environ if environment is None else environment)
        self._known = KnownSecrets(self._secrets)
        self._always = always

    def capture(self, device: str) -> Captured | NotCaptured | NotReadable:
        """Return a device's capture."""
        found = self._source.capture(device)
        if isinstance(found, NotCaptured):
            return NotCaptured(self._known.without(found.reason))
        if isinstance(found, NotReadable):
            return found
        data = self.plan.data
        entry = data.devices[device]
        found = found.of(device, str(entry.address or ""), entry.platform)
        files = found.files
        for file in files:
            if number := overlong_in(shown_lines(file.data)):
                return NotReadable(overlong_words(file.name, number))
        if self._always or any(map(self._holds_one, files)):
            named = f"{data.site}\0{data.reference}\0{device}"
            files = without_secrets(entry.platform, files, named, self._secrets)
        return replace(found, files=files, notes=tuple(map(self._known.without, found.notes)))

    def _holds_one(self, file: CaptureFile) -> bool:
        return any(self._known.spans("\n".join(shown_lines(file.data))))
