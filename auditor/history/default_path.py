"""Where the history is kept by default: the data directory of the user."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

VARIABLE = "AUDITOR_HISTORY"
_FILE = Path("auditor", "history.sqlite")


def history_file(environment: Mapping[str, str], home: Path, *, windows: bool = os.name == "nt") -> Path:
    """Return the file: what the environment names, or the user's own.

    Source: XDG Base Directory Specification 0.8 (a relative ``XDG_DATA_HOME`` is to be ignored); on Windows the
    folder of application data that stays on the machine.
    """
    if named := environment.get(VARIABLE):
        return Path(named)
    if windows:
        return Path(environment.get("LOCALAPPDATA") or home / "AppData" / "Local") / _FILE
    named = environment.get("XDG_DATA_HOME", "")
    return (Path(named) if named.startswith("/") else home / ".local" / "share") / _FILE
