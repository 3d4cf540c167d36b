"""Rules about all that is in templates/, whatever it is for; those of platforms have a file of their own."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from pathlib import Path

from tests.conftest import ROOT

GENERATED = {"reports/report.schema.json"}
"""What is written by a command and read by machines alone."""
LONGEST: int = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["ruff"]["line-length"]


def too_long(folder: Path) -> Iterator[str]:
    """Yield the lines below a folder that are longer than those of Python may be."""
    for path in sorted(path for path in folder.rglob("*") if path.is_file()):
        name = path.relative_to(folder).as_posix()
        for number, line in enumerate(path.read_text(encoding="utf-8").split("\n"), 1):
            if len(line) > LONGEST and name not in GENERATED:
                yield f"{name}:{number}"


def test_no_line_is_too_long():
    assert list(too_long(ROOT / "templates")) == []


def test_a_line_that_is_too_long_is_named(tmp_path: Path):
    (tmp_path / "reports").mkdir()
    for name in ("report.css", "report.schema.json"):
        (tmp_path / "reports" / name).write_text(f"{'é' * LONGEST}\n{'é' * (LONGEST + 1)}\n", encoding="utf-8")
    assert list(too_long(tmp_path)) == ["reports/report.css:2"]
