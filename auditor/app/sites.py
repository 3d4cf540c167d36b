"""The sites that a call is about: their plans, and what their folders are called."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from auditor.app.tally import Tally
from auditor.errors import UsageError
from auditor.plan.file_names import same_file
from auditor.plan.loader import Plan, load


@dataclass(frozen=True, slots=True, eq=False)
class Site:
    """A site.

    Attributes:
        label: what messages call it: its plan file as it was named.
        folder: what its part of a folder for several sites is called; empty where there is only one.
        plan: what the network should be.
    """

    label: str
    folder: str
    plan: Plan

    def below(self, folder: Path | None, *more: str) -> Path | None:
        """Return the site's part of a folder, where one is given."""
        return folder.joinpath(self.folder, *more) if folder else None


def sites_of(paths: Sequence[Path], tally: Tally, *, sharing: bool) -> list[Site]:
    """Return the sites whose plans can be audited against; of the others all that is wrong is told.

    Args:
        paths: the plan files.
        tally: where what is wrong is told.
        sharing: whether each site has a part of its own in a folder that is given.

    Raises:
        UsageError: two sites would share a folder or have one reference, or one is named twice.
    """
    _refuse_twins(paths, _same_file)
    if sharing:
        _refuse_twins(paths, _same_folder)

    several = len(paths) > 1
    loaded = [(path, tally.attempt(str(path), partial(_plan, path))) for path in paths]
    _refuse_references([(path, plan.data.reference) for path, plan in loaded if plan])
    return [Site(str(path), site_name(path) if several else "", plan) for path, plan in loaded if plan]


def _plan(path: Path) -> Plan:
    plan = load(path)
    plan.require_devices()
    return plan


def site_name(path: Path) -> str:
    """Return what a site's folder is called: its plan file's stem, or its own folder's name for a ``plan.yaml``."""
    if path.stem.casefold() == "plan":
        return Path(os.path.abspath(path)).parent.name or path.stem  # noqa: PTH100 - resolve() would follow links
    return path.stem if path.stem.strip(".") else path.name


def _same_file(path: Path) -> str:
    return os.path.realpath(path)


def _same_folder(path: Path) -> str:
    """Return what is equal for names that are one on file systems which ignore case or the way a letter is composed."""
    return same_file(site_name(path))


def _refuse_references(plans: Iterable[tuple[Path, str]]) -> None:
    seen: dict[str, Path] = {}
    for path, reference in plans:
        first = seen.setdefault(reference, path) if reference else path
        if first != path:
            raise UsageError(f"{first} and {path} have the same reference {reference}: give each site one of its own")


def _refuse_twins(paths: Sequence[Path], kind: Callable[[Path], str]) -> None:
    seen: dict[str, Path] = {}
    for path in paths:
        key = kind(path)
        if key not in seen:
            seen[key] = path
        elif kind is _same_file:
            raise UsageError(f"{seen[key]} and {path} are the same plan: name it once")
        else:
            raise UsageError(
                f"{seen[key]} and {path} would share the folder {site_name(path)}: rename one of them, or give each a "
                "run of its own"
            )
