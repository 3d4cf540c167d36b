"""Look for exceptions for a while: ``python -m tests.bench.mutated SEED SECONDS`` spoils captures and plans."""

from __future__ import annotations

import random
import sys
import time
import traceback
from collections import Counter

from tests.compare.mutated import tries


def main(seed: int, seconds: float) -> None:
    """Try for so many seconds, and print what was found."""
    ends, runs, found = time.monotonic() + seconds, Counter[str](), Counter[str]()
    for what, work in tries(random.Random(seed)):
        runs[what.partition(" ")[0]] += 1
        try:
            work()
        except Exception as error:  # noqa: BLE001 - whatever it is, it is what is looked for
            found["".join(traceback.format_exception(error)[-3:])] += 1
            print(f"{what}: {error!r}"[:300], flush=True)
        if time.monotonic() > ends:
            break
    print(f"{runs.total()} runs ({dict(runs)}), {found.total()} exceptions", *found, sep="\n")


if __name__ == "__main__":
    main(int(sys.argv[1]), float(sys.argv[2]))
