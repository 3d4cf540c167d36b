"""Finds the platforms by looking into ``templates/platforms/``: one folder each, nothing listed in code."""

from __future__ import annotations

import difflib
import re
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
def folder_of(name: str) -> str | None:
    """Return the folder of a platform's data, which is its name or has that among its other names."""
    if name in names():
        return name
    return next((folder for folder in names() if name in _data(folder).get("also", ())), None)


def _data(name: str) -> dict[str, Any]:
    """Return what a platform.yaml says, unchecked."""
    tree = yamltree.parse(read_text("platforms", name, "platform.yaml"))
    if tree.problems:
        raise PlatformError(f"{name}/platform.yaml:{tree.problems[0].line}: {tree.problems[0].message}")
    data: dict[str, Any] = tree.value
    return data


def template_text(name: str, file: str) -> str:
    """Return the text of one of a platform's files: its own, or that of the platform that it is like.

    Raises:
        PlatformError: no such platform, or there is no such file.
    """
    platform = get(name)
    for folder in (platform.name, platform.like):
        if folder and templates_root().joinpath("platforms", folder, file).is_file():
            return read_text("platforms", folder, file)
    raise PlatformError(f"{platform.name}: there is no file {file}, which its platform.yaml or the reader asks for")


@cache
def has_template(name: str, file: str) -> bool:
    """Return whether a platform has a file, its own or that of the platform that it is like."""
    platform = get(name)
    return any(has_own(folder, file) for folder in (platform.name, platform.like) if folder)


def has_own(folder: str, file: str) -> bool:
    """Return whether a platform's folder has a file."""
    return templates_root().joinpath("platforms", folder, file).is_file()


@cache
def vocabulary(name: str) -> frozenset[str]:
    """Return the words, in small letters, by which a platform's configurations are cut and read."""
    platform = get(name)
    keys = {"layout", "lines", "outside", "harmless", "limits", "overriding", "words", "defaults"}
    texts = [str(platform.model_dump(include=keys, mode="json"))]
    texts += [str(rule.model_dump(mode="json")) for rule in platform.every_section]
    texts += [template_text(name, f"{rule.template}.textfsm") for rule in platform.every_section]
    return frozenset(word.lower() for text in texts for word in re.findall(r"[A-Za-z][A-Za-z0-9-]*", text))


@cache
def get(name: str) -> Platform:
    """Return a platform's data.

    Raises:
        PlatformError: no such platform, or its platform.yaml is wrong.
    """
    folder = folder_of(name)
    if folder is None:
        near = difflib.get_close_matches(name, names(), 1)
        hint = f"; did you mean {near[0]}?" if near else ""
        raise PlatformError(f"no platform is called {name!r}{hint} Known: {', '.join(names())}")
    data = _data(folder)
    if "like" in data:
        if data["like"] not in names() or "like" in (other := _data(data["like"])):
            raise PlatformError(f"{folder}/platform.yaml: like: {data['like']!r} is no platform with data of its own")
        data = {**other, **data}
    try:
        return Platform.model_validate({"name": folder, **data})
    except ValidationError as error:
        first = error.errors()[0]
        key = ".".join(str(part) for part in first["loc"])
        raise PlatformError(f"{folder}/platform.yaml: {key}: {first['msg']}") from error
