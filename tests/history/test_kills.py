"""A kill at any moment leaves whole runs and whole reports."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from tests.checks import HANGS
from tests.conftest import ROOT
from tests.history.killed import PHASES

KILLS = 200


@pytest.mark.slow
@pytest.mark.skipif(sys.platform == "win32", reason="needs fork and SIGKILL")
def test_two_hundred_kills_leave_nothing_by_half(tmp_path: Path):
    run = subprocess.run(
        [sys.executable, "-m", "tests.history.killed", str(tmp_path), "20261125", str(KILLS)],
        cwd=ROOT, capture_output=True, text=True, check=False, timeout=HANGS,
    )  # fmt: skip
    assert run.returncode == 0, run.stderr
    hit = json.loads(run.stdout)
    assert sum(hit.values()) == KILLS
    assert hit.keys() >= {*PHASES} - {"beginning"}
    assert hit["keeping"] >= 10
    assert hit["writing"] >= 10
