"""What the package offers to whoever imports it."""

from __future__ import annotations

import ast
import importlib.util
import subprocess
import sys

import pytest

import auditor
from auditor.cli import COMMANDS
from tests.conftest import ROOT


def test_the_front_door_offers_what_the_commands_use():
    assert sorted(auditor.__all__) == auditor.__all__
    for name in auditor.__all__:
        assert getattr(auditor, name) is not None
        assert importlib.util.find_spec(f"auditor.{name}") is None, f"{name} is a module, too: which one is meant?"


def test_type_checkers_see_what_there_is_at_run_time():
    """What is imported for type checkers alone is found under the same names, and is the same."""
    tree = ast.parse((ROOT / "auditor" / "__init__.py").read_text(encoding="utf-8"))
    seen = {
        alias.asname or alias.name: getattr(importlib.import_module(str(node.module)), alias.name)
        for block in ast.walk(tree)
        if isinstance(block, ast.If)
        for node in block.body
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }
    assert sorted(seen) == auditor.__all__
    for name, value in seen.items():
        assert getattr(auditor, name) is value, name
    with pytest.raises(AttributeError, match="no attribute 'audti'"):
        getattr(auditor, "audti")  # noqa: B009 - type checkers would refuse it, which is the point


def test_the_package_is_imported_quickly():
    """Names are imported when they are asked for."""
    code = "import sys, auditor; print([name for name in sys.modules if name.startswith('auditor.')])"
    shown = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True).stdout
    assert shown == "[]\n"


CALLS = {
    "audit": {"audit_sites"},
    "capture": {"capture_sites"},
    "demo": {"run_demo"},
    "expected": {"write_expected"},
    "history": {"site_history"},
    "manual": {"manual_pages"},
    "overview": {"write_overview"},
    "platforms": {"readable_platforms"},
    "read": {"read_capture"},
    "review": {"review_plans"},
    "verify": {"verify_evidence"},
}
"""The one library call of each command."""


@pytest.mark.parametrize("command", COMMANDS)
def test_a_command_is_one_library_call_that_the_door_offers(command: str):
    tree = ast.parse((ROOT / "auditor" / "cli" / f"{command}.py").read_text(encoding="utf-8"))
    taken = {
        alias.name
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom) and str(node.module).startswith("auditor.app")
        for alias in node.names
    }
    called = {
        node.func.id for node in ast.walk(tree) if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    } & taken
    assert called == CALLS[command]
    assert called <= {*auditor.__all__}
    below = {"auditor.cli", "auditor.app", "auditor.reports", "auditor.core", "auditor.capture.interface"}
    for node in ast.walk(tree):
        if isinstance(node, ast.ImportFrom) and str(node.module).startswith("auditor."):
            assert ".".join(str(node.module).split(".")[:2]) in below or node.module in below, node.module


def test_every_module_says_what_lives_there():
    for path in (ROOT / "auditor").rglob("*.py"):
        text = ast.get_docstring(ast.parse(path.read_text()))
        assert text, f"{path} does not say what lives there"
        assert text.split("\n")[0].endswith((".", ":")), f"{path}: the first line is no sentence"
