"""Text that is made to take long: ``hostile.py PLATFORM`` takes the secrets out of it, and ends."""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator

from auditor.capture.masking import without_secrets
from auditor.platforms import catalogue
from auditor.reading.source import CaptureFile

LONG = 1_000_000
REPEATED = 60_000


def texts(platform: str) -> Iterator[str]:
    """Yield blank lines, long lines, and lines of the words of each pattern over and over."""
    yield "\n" * 100_000
    yield " \n" * 100_000
    yield "hostname x\n" + "\n" * 100_000 + "end\n"
    for sign in (" ", "a", "a.", '"', "key ", "\x08 "):
        yield sign * (LONG // len(sign))
    for sign in ("'", "\\", "a-b ", "set ", "password", "passwordx "):
        yield sign * (REPEATED // len(sign))
    within = [text for rule in catalogue.get(platform).secrets_within for text in rule.secrets]
    for pattern in (*catalogue.get(platform).secrets_anywhere, *within):
        words = re.findall(r"[a-z][a-z0-9]*(?:[ -][a-z0-9]+)* ?", pattern)
        for text in {*words, f"{words[0]} x ", " ".join(words)}:
            yield text * (REPEATED // len(text))


if __name__ == "__main__":
    for text in texts(sys.argv[1]):
        found = without_secrets(sys.argv[1], [CaptureFile("x.txt", text.encode())])
        assert len(found) == 1
