"""Captures without their secrets: by rule, and word for word where a secret is known."""

from __future__ import annotations

from collections.abc import Iterable

from auditor.capture.interface import Captured, NotCaptured
from auditor.passphrases import from_type7, is_seal, seal
from auditor.platforms import catalogue
from auditor.reading import Reading, read
from auditor.reading.source import Source as File
from auditor.reading.source import behind_pager, shown_lines
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


def without_known(
    platform: str, captured: Captured | NotCaptured, secrets: Iterable[str], named: str = ""
) -> Captured | NotCaptured:
    """Return what a source gave of a device without secrets that are known.

    Where one stands in a capture, all of its secrets are taken out; a capture without any stays as it is.
    """
    known = Known(secrets)
    if isinstance(captured, NotCaptured):
        return NotCaptured(known.without(captured.reason))
    notes = tuple(map(known.without, captured.notes))
    files = captured.files
    if any(True for file in files for _ in known.spans("\n".join(shown_lines(file.data)))):
        files = without_secrets(platform, files, named, known.secrets)
    return Captured(files, notes)
