"""README and manual as text: their blocks of code, and the commands that are written in them."""

from __future__ import annotations

import re

from auditor.manual import pages
from tests.conftest import ROOT

README = ROOT / "README.md"
MANUAL = ROOT / "auditor" / "manual"


def documents() -> dict[str, str]:
    """Return README and pages by name."""
    return {"README": README.read_text(encoding="utf-8"), **{page.name: page.text for page in pages()}}


def blocks(text: str, language: str) -> list[str]:
    """Return the blocks of code in a language, without the indentation of a list that they stand in."""
    found = re.findall(rf"^( *)```{language}\n(.*?)^\1```", text, re.DOTALL | re.MULTILINE)
    return ["".join(line.removeprefix(indent) for line in block.splitlines(keepends=True)) for indent, block in found]


def spans(text: str) -> list[str]:
    """Return what stands between single backticks outside of blocks of code."""
    return re.findall(r"`([^`\n]+)`", re.sub(r"^ *```.*?^ *```", "", text, flags=re.DOTALL | re.MULTILINE))


def commands(text: str) -> list[str]:
    """Return the commands of ours that a document shows, without their comments: in blocks, and within sentences."""
    lines = [line.partition("  #")[0].strip() for block in blocks(text, "sh") for line in block.splitlines()]
    return [line for line in [*lines, *spans(text)] if line.startswith("auditor ")]
