"""What .ci/run fetches from npm for these tests, into a folder outside of the repository; without it they skip."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

NPM = Path(os.environ.get("AUDITOR_NPM", Path.home() / ".cache" / "auditor-tests")) / "node_modules"


def npm(path: str) -> Path:
    """Return a file of a package; skip the test where it is not there."""
    file = NPM / path
    if not file.exists():
        pytest.skip(f"needs npm's {path.rsplit('/lib', 1)[0]}, which .ci/run fetches")
    return file
