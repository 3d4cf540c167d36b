"""Captures without their secrets: by rule, and word for word where a secret is known."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from dataclasses import replace

from auditor.capture.interface import Captured, NotCaptured, NotReadable, Source
from auditor.passphrases import from_type7, is_seal, planned_in, seal
from auditor.plan.loader import Plan
from auditor.platforms import catalogue
from auditor.reading import Reading, read
from auditor.reading.source import Source as File
from auditor.reading.source import behind_pager, overlong_in, overlong_words, shown_lines
from auditor.redact import Known


def without_secrets(platform: str, files: list[File], named: str = "", secrets: Iterable[str] = ()) -> list[File]:
    """Return a capture with every secret taken out, a Wi-Fi passphrase that can be read put under seal.

    What is read of it is the same, and a passphrase can still be compared.

    Args:
        platform: the device's platform.
        files: its capture.
        named: whose capture it is; where that is said, its seals are the same every time.
        secrets: secrets that are known: taken out wherever they stand, but where the reader takes one for a name, and
            where one is among the dialect's own words.
    """
    reading = read(platform, files)
    seals = _seals(reading, named)
    known = Known(secrets, catalogue.vocabulary(platform))
    found = []
    for source, file in enumerate(files):
        shown = [line.rstrip() for line in shown_lines(file.data)]
        starts = [behind_pager(line) for line in shown]
        texts = [line[start:] for line, start in zip(shown, starts, strict=True)]
        lines = reading.redacted(source, texts, seals, known)
        kept = (f"{full[:start]}{line}".rstrip() + "\n" for full, start, line in zip(shown, starts, lines, strict=True))
        found.append(File(file.name, "".join(kept).encode()))
    return found


def _seals(reading: Reading, named: str) -> dict[str, str]:
    """Return the seal of each passphrase of a capture that can be read, by its text; seals are their own."""
    ssids: dict[tuple[str, str], list[str]] = {}
    seals: dict[str, str] = {}
    for ssid, stored in reading.passphrases.items():
        for one in stored:
            plain = from_type7(one.text) if one.form == "type7" else one.text if one.form == "plain" else None
            if is_seal(one.text):
                seals[one.text] = one.text
            elif plain:
                ssids.setdefault((one.text, plain), []).append(ssid)
    for (text, plain), served in ssids.items():
        seals[text] = seal(plain, *dict.fromkeys(served), named=named)
    return seals


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
        self, plan: Plan, source: Source, environment: Mapping[str, str] | None = None, *, always: bool = False
    ) -> None:
        self.plan = plan
        self._source = source
        self._secrets = planned_secrets(plan, os.environ if environment is None else environment)
        self._known = Known(self._secrets)
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

    def _holds_one(self, file: File) -> bool:
        return any(self._known.spans("\n".join(shown_lines(file.data))))
