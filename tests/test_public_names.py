"""What the package offers to whoever imports it."""

from __future__ import annotations

import ast

import auditor
from tests.conftest import ROOT


def test_the_front_door_offers_what_the_commands_use():
    assert sorted(auditor.__all__) == auditor.__all__
    for name in auditor.__all__:
        assert getattr(auditor, name) is not None


def test_every_module_says_what_lives_there():
    for path in (ROOT / "auditor").rglob("*.py"):
        text = ast.get_docstring(ast.parse(path.read_text()))
        assert text, f"{path} does not say what lives there"
        assert text.split("\n")[0].endswith((".", ":")), f"{path}: the first line is no sentence"
