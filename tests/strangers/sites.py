"""Sites that were written without a look at the reader or its fixtures, each with changes of one thing at a time.

A site is a folder of ``fixtures/strangers/``: ``plan.yaml``, ``captures/``, ``passphrases.yaml`` (what the plan takes
from the environment) and ``cases.yaml``, a list of changes: ``name``, ``kind``, ``why``, and ``file``, ``old``,
``new``, ``below`` or a list of such under ``changes``. A kind is one of ``KINDS``.

``python -m tests.strangers FOLDER…`` audits each change of the sites in these folders, and says what went wrong.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from auditor.app.auditing import audit
from auditor.core.report import Report
from auditor.plan.loader import load
from tests.compare.site import TODAY, Site, edited
from tests.conftest import FIXTURES, from_yaml

FOLDER = FIXTURES / "strangers"
KINDS = {
    "drift": "what runs is no longer what was planned, or can no longer be told",
    "harmless": "nothing that was planned has changed",
    "limit": "a drift by what may block a service: its lines are listed as limits, and no planned setting is judged",
    "silent": "a drift that is passed over, for the reason that its why gives",
    "alarm": "a harmless change that is told, for the reason that its why gives",
}


@dataclass(frozen=True)
class Stranger:
    """A site, what its plan takes from the environment, and its cases."""

    site: Site
    passphrases: Mapping[str, str]
    cases: tuple[dict[str, Any], ...]

    def report(self, site: Site) -> Report:
        """Audit the site as it is, or changed."""
        return audit(site.plan, site, today=TODAY, max_age=None, environment=self.passphrases, corrections=False)


@cache
def stranger(folder: Path) -> Stranger:
    """Return the site of a folder."""
    captures = folder / "captures"
    files = {path.relative_to(captures).as_posix(): path for path in sorted(captures.rglob("*")) if path.is_file()}
    passphrases = folder / "passphrases.yaml"
    return Stranger(
        Site(load(folder / "plan.yaml"), {name: path.read_bytes() for name, path in files.items()}),
        from_yaml(passphrases.read_bytes()) if passphrases.exists() else {},
        tuple(from_yaml((folder / "cases.yaml").read_bytes())),
    )


@cache
def in_order(folder: Path) -> Report:
    """Return the report on a site as it was written."""
    found = stranger(folder)
    return found.report(found.site)


def changed(folder: Path, case: dict[str, Any]) -> Report:
    """Return the report on a site with the changes of one case."""
    found = stranger(folder)
    site = found.site
    for change in case.get("changes", [case]):
        file = change.get("file", case.get("file"))
        how = {key: change[key] for key in ("old", "new", "below", "everywhere") if key in change}
        site = site.having(file, edited(site.text(file), **how))
    return found.report(site)


def told(before: Report, after: Report) -> bool:
    """Return whether an audit says that something is not as it was: it is not conforming, for a new reason."""
    return after.exit_code != 0 and _tells(before) != _tells(after)


def alarmed(before: Report, after: Report) -> bool:
    """Return whether an audit found more, or ended otherwise."""
    return after.exit_code != before.exit_code or _findings(before) != _findings(after)


def limits(report: Report) -> set[tuple[str, str, str]]:
    """Return device, file and text of each line that is listed as a limit."""
    return {(device.name, line.file, line.text) for device in report.devices for line in device.limits}


def wrong(folder: Path, case: dict[str, Any]) -> str:
    """Return what an audit made of a case where that is not what the case's kind says, else nothing."""
    before, after = in_order(folder), changed(folder, case)
    is_told, is_alarmed = told(before, after), alarmed(before, after)
    match case["kind"]:
        case "drift" if not is_told:
            return f"passed over (exit code {after.exit_code})"
        case "silent" | "limit" if is_told:
            return "told now: it is a drift like any other"
        case "limit" if not limits(after) - limits(before):
            return "no limit is listed for it"
        case "silent" if limits(after) - limits(before):
            return "listed now: its kind is limit"
        case "harmless" if is_alarmed:
            new = [f"{device} {key}" for device, key, *_ in _findings(after) - _findings(before)]
            new += [
                f"{item.device} {item.setting}: {item.why}"
                for item in after.unverified
                if item not in before.unverified
            ]
            return f"alarmed (exit code {after.exit_code}): {'; '.join(new[:4])}"
        case "alarm" if not is_alarmed:
            return "no alarm now: it is harmless like any other"
    return ""


def _findings(report: Report) -> set[tuple[str, ...]]:
    return {(item.device, item.id, item.kind, str(item.observed)) for item in report.findings}


def _tells(report: Report) -> tuple[object, ...]:
    return (
        _findings(report),
        [(device.name, device.outcome, device.reason) for device in report.devices],
        {(item.device, item.setting, item.cause, item.why, bool(item.approved)) for item in report.unverified},
        [(path.kind, path.device, path.subnet, path.places, path.state) for path in report.services.paths],
        [(part.subnet, part.state) for part in report.services.separated],
    )
