"""The tree of errors is drawn in ``auditor/errors.py``, and there are no others."""

from __future__ import annotations

import importlib
import inspect
import pkgutil

import auditor
from auditor import errors
from auditor.errors import AuditorError

SIGNALS = {
    "auditor.corrections.propose._NoCorrection",
    "auditor.history.opening._Damaged",
    "auditor.platforms.render.Unwritable",
    "auditor.yamltree._TooLarge",
}
"""What is raised to leave a nested call, and is caught by whoever made it: no errors of ours."""


def raised() -> set[type[BaseException]]:
    """Return everything of the package that can be raised."""
    found: set[type[BaseException]] = set()
    for module in pkgutil.walk_packages(auditor.__path__, "auditor."):
        if module.name == "auditor.__main__":  # runs the command line
            continue
        for value in vars(importlib.import_module(module.name)).values():
            if inspect.isclass(value) and issubclass(value, BaseException) and value.__module__.startswith("auditor."):
                found.add(value)
    return found


def drawn() -> dict[str, str]:
    """Return for each error of the drawing the one that it hangs on."""
    parents: dict[str, str] = {}
    above: list[str] = []
    for line in (errors.__doc__ or "").splitlines():
        name = line.lstrip("├└│─ ").partition(" ")[0]
        depth = (len(line) - len(line.lstrip("├└│─ "))) // 4
        if inspect.isclass(getattr(errors, name, None)) and line.strip() != name:
            above[depth:] = [name]
            parents[name] = above[depth - 1] if depth else "Exception"
    return parents


def test_every_error_of_the_package_is_in_the_drawn_tree():
    ours = {error for error in raised() if f"{error.__module__}.{error.__qualname__}" not in SIGNALS}
    assert {error.__module__ for error in ours} == {"auditor.errors"}
    assert {error.__name__: error.__base__.__name__ for error in ours if error.__base__} == drawn()
    assert all(issubclass(error, AuditorError) for error in ours)


def test_every_signal_is_still_there():
    assert {f"{e.__module__}.{e.__qualname__}" for e in raised() if not issubclass(e, AuditorError)} == SIGNALS
