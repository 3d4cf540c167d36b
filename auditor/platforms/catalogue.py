"""Finds the platforms by looking into ``templates/platforms/``: one folder each, nothing listed in code."""

from __future__ import annotations

import difflib
from functools import cache
from typing import Any

from pydantic import ValidationError

from auditor import yamltree
from auditor.errors import PlatformError
from auditor.platforms.definition import Platform
from auditor.resources import read_text, templates_root


@cache
def names() -> tuple[str, ...]:
    """Return the names of all platforms, sorted."""
    folder = templates_root().joinpath("platforms")
    return tuple(sorted(f.name for f in folder.iterdir() if f.joinpath("platform.yaml").is_file()))


@cache
def get(name: str) -> Platform:
    """Return a platform's data.

    Raises:
        PlatformError: no such platform, or its platform.yaml is wrong.
    """
    if name not in names():
        near = difflib.get_close_matches(name, names(), 1)
        hint = f"; did you mean {near[0]}?" if near else ""
        raise PlatformError(f"no platform is called {name!r}{hint} Known: {', '.join(names())}")
    tree = yamltree.parse(read_text("platforms", name, "platform.yaml"))
    if tree.problems:
        raise PlatformError(f"{name}/platform.yaml:{tree.problems[0].line}: {tree.problems[0].message}")
    data: dict[str, Any] = tree.value
    try:
        return Platform.model_validate({"name": name, **data})
    except ValidationError as error:
        first = error.errors()[0]
        key = ".".join(str(part) for part in first["loc"])
        raise PlatformError(f"{name}/platform.yaml: {key}: {first['msg']}") from error
