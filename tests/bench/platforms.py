"""Reading speed of each platform, as a ratio to a yardstick of the same run.

``python tests/bench/platforms.py [FOLDER]``

Every capture of the made-up devices below ``fixtures/``, or of the real ones in FOLDER (one folder a platform), is read
with evidence by a reader that has seen nothing like it before, beside one pass of a compiled pattern over its lines.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

from auditor.areas import read
from auditor.platforms import catalogue
from auditor.reading.dialect import dialect
from auditor.reading.source import CaptureFile
from tests.bench.bench import regex_pass
from tests.conftest import FIXTURES
from tests.platforms import cases, corpus

ROUNDS = 5


def devices(platform: str, folder: Path | None) -> list[list[CaptureFile]]:
    """Return the files of each device of a platform."""
    if folder:
        return [device.sources() for device in corpus.devices_in(folder, platform)]
    return [cases.sources(case) for case in cases.cases(platform)] + [
        device.sources()
        for home in (FIXTURES / "networks", FIXTURES / "drifts")
        for device in corpus.demo_devices(home, platform)
    ]


def quickest(work: Callable[[], object]) -> float:
    """Return the milliseconds of the quickest of some rounds."""
    found = []
    for _ in range(ROUNDS):
        begin = time.perf_counter()
        work()
        found.append((time.perf_counter() - begin) * 1000)
    return min(found)


def reads(platform: str, captures: list[list[CaptureFile]]) -> None:
    """Read captures, each as if it were the first."""
    for sources in captures:
        for template in dialect(platform).templates:
            template.forget()
        read(platform, sources)


def main() -> None:
    """Measure and print a line a platform."""
    folder = Path(sys.argv[1]) if len(sys.argv) > 1 else None
    print(f"{'platform':22}{'devices':>8}{'lines':>8}{'read, ms':>10}{'one regex pass, ms':>20}{'ratio':>8}")
    for platform in catalogue.names():
        captures = devices(platform, folder)
        texts = [source.data.decode(errors="replace") for sources in captures for source in sources]
        if not texts:
            continue
        reads(platform, captures)
        taken = quickest(lambda: reads(platform, captures))  # noqa: B023 - called at once
        yardstick = quickest(lambda: regex_pass("\n".join(texts)))  # noqa: B023 - called at once
        lines = sum(text.count("\n") for text in texts)
        print(f"{platform:22}{len(captures):8}{lines:8}{taken:10.2f}{yardstick:20.3f}{taken / yardstick:8.1f}")


if __name__ == "__main__":
    main()
