"""The one place that knows where the data shipped with the package lies: in a wheel, or in a checkout."""

from __future__ import annotations

from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from auditor.errors import PlatformError


@cache
def templates_root() -> Traversable:
    """Return the folder that holds ``platforms/``, ``reports/`` and ``demo/``.

    Raises:
        PlatformError: the package was installed without its data.
    """
    packaged = files("auditor").joinpath("templates")
    if packaged.is_dir():
        return packaged
    checkout = Path(__file__).resolve().parent.parent
    if (checkout / "pyproject.toml").is_file() and (checkout / "templates").is_dir():
        return checkout / "templates"
    raise PlatformError("the templates are missing: this installation is not complete, install it again")


def read_text(*parts: str) -> str:
    """Return the text of one data file, named by its path below the templates folder."""
    return templates_root().joinpath(*parts).read_text(encoding="utf-8")
