"""The parts of a run as rows: written once each, found again by what they say."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any

from auditor.core.history import KeptDevice, Run
from auditor.core.report import CONSEQUENCES, Consequence, Counts, DeviceReport, Finding, PlanFileRef, Report
from auditor.history.lifecycle import Lifecycle, Traces

_COUNTS = tuple(Counts.model_fields)
_RUN_COLUMNS = (
    "run.id, run.day, run.at, run.occasion, run.verdict, run.complete, plan.file, plan.sha256, run.tool, "
    "run.planned, run.conforming, run.nonconforming, run.unverified, run.unplanned, run.approved, "
    "run.findings, run.exposure, run.outage, run.upkeep, run.captured"
)
RUNS_OF_SITE = f"SELECT {_RUN_COLUMNS} FROM run JOIN plan ON plan.id = run.plan WHERE run.site = ? ORDER BY run.id"  # noqa: S608 - all of it stands here


def site_key(site: str, reference: str) -> str:
    """Return what a site is known by: its plan's reference, or else its name."""
    return reference or site


def insert_run(connection: sqlite3.Connection, report: Report, at: datetime, findings: int) -> tuple[int, int]:
    """Insert a run with its site and plan, and return the rows of site and run."""
    key = site_key(report.site, report.reference)
    connection.execute(
        "INSERT INTO site (key, name, reference) VALUES (?, ?, ?)"
        " ON CONFLICT (key) DO UPDATE SET name = excluded.name, reference = excluded.reference",
        (key, report.site, report.reference),
    )
    site = site_row(connection, key)
    plan_values = (bytes.fromhex(report.plan.sha256), report.plan.file)
    connection.execute("INSERT INTO plan (sha256, file) VALUES (?, ?) ON CONFLICT DO NOTHING", plan_values)
    plan = connection.execute("SELECT id FROM plan WHERE sha256 = ? AND file = ?", plan_values).fetchone()[0]
    counts = report.counts
    values = (
        site,
        report.audited_on.toordinal(),
        at.isoformat(timespec="seconds"),
        report.occasion,
        report.verdict,
        report.complete,
        plan,
        report.tool,
        *(getattr(counts, name) for name in _COUNTS),
        findings,
        *open_findings(report).values(),
        min((device.captured.on.toordinal() for device in report.devices if device.captured), default=None),
    )
    run = _inserted(
        connection,
        "INSERT INTO run (site, day, at, occasion, verdict, complete, plan, tool, planned, conforming, nonconforming,"
        " unverified, unplanned, approved, findings, exposure, outage, upkeep, captured)"
        " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
        values,
    )
    return site, run


def site_row(connection: sqlite3.Connection, key: str) -> int:
    """Return the row of a site; 0 where nothing of it is kept."""
    found = connection.execute("SELECT id FROM site WHERE key = ?", (key,)).fetchone()
    return int(found[0]) if found else 0


def _inserted(connection: sqlite3.Connection, sql: str, values: tuple[object, ...]) -> int:
    row = connection.execute(sql, values).lastrowid
    assert row is not None
    return row


def open_findings(report: Report) -> dict[Consequence, int]:
    """Return how many findings count, by consequence."""
    counted = [finding.consequence for finding in report.findings if finding.counts]
    return {consequence: counted.count(consequence) for consequence in CONSEQUENCES}


def insert_lifecycles(
    connection: sqlite3.Connection, run: int, lifecycles: Iterable[Lifecycle], report: Report
) -> None:
    """Insert which findings a run has, and their texts where they are new."""
    findings = {finding.id: finding for finding in report.findings}
    rows = [
        (
            run,
            _finding_row(connection, findings[lifecycle.key]) if lifecycle.seen else lifecycle.row,
            lifecycle.seen,
            lifecycle.since.toordinal(),
            lifecycle.before and lifecycle.before.toordinal(),
        )
        for lifecycle in lifecycles
    ]
    connection.executemany("INSERT INTO run_finding (run, finding, seen, since, before) VALUES (?, ?, ?, ?, ?)", rows)


def _finding_row(connection: sqlite3.Connection, finding: Finding) -> int:
    approved = finding.approved.model_dump(mode="json") if finding.approved else None
    values = (
        finding.id,
        finding.device,
        finding.setting,
        finding.kind,
        stored_json(finding.expected),
        stored_json(finding.observed),
        finding.consequence,
        finding.effect,
        stored_json(approved),
    )
    same = connection.execute(
        "SELECT id FROM finding WHERE key = ? AND device = ? AND setting = ? AND kind = ? AND expected = ?"
        " AND observed = ? AND consequence = ? AND effect = ? AND approved = ?",
        values,
    ).fetchone()
    if same is not None:
        return int(same[0])
    return _inserted(
        connection,
        "INSERT INTO finding (key, device, setting, kind, expected, observed, consequence, effect, approved)"
        " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
        values,
    )


def stored_json(value: object) -> str:
    """Return a value as it is kept: equal values give equal text."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"))


def insert_devices(connection: sqlite3.Connection, run: int, report: Report, before: int | None) -> None:
    """Insert what became of each device; one that fared exactly as in the run before is referred to."""
    known = {device.model_dump_json(): row for row, device in devices_of(connection, before)} if before else {}
    for device in report.devices:
        kept = _kept(device)
        row = known.get(kept.model_dump_json()) or _insert_device(connection, kept)
        connection.execute("INSERT INTO run_device (run, device) VALUES (?, ?)", (run, row))


def _kept(device: DeviceReport) -> KeptDevice:
    captures = {capture.file: capture.sha256 for capture in sorted(device.captures, key=lambda one: one.file)}
    return KeptDevice(
        name=device.name,
        outcome=device.outcome,
        verdict=device.verdict,
        complete=device.complete,
        captures=captures,
    )


def _insert_device(connection: sqlite3.Connection, device: KeptDevice) -> int:
    row = _inserted(
        connection,
        "INSERT INTO device (name, outcome, verdict, complete) VALUES (?, ?, ?, ?)",
        (device.name, device.outcome, device.verdict, device.complete),
    )
    connection.executemany(
        "INSERT INTO capture (device, file, sha256) VALUES (?, ?, ?)",
        [(row, file, bytes.fromhex(sha256)) for file, sha256 in device.captures.items()],
    )
    return row


def devices_of(connection: sqlite3.Connection, run: int) -> list[tuple[int, KeptDevice]]:
    """Return the devices of a run, each with its row, by name."""
    found = connection.execute(
        "SELECT device.id, name, outcome, verdict, complete, file, sha256 FROM run_device"
        " JOIN device ON device.id = run_device.device LEFT JOIN capture ON capture.device = device.id"
        " WHERE run = ? ORDER BY name, file",
        (run,),
    )
    devices: dict[int, KeptDevice] = {}
    for row, name, outcome, verdict, complete, file, sha256 in found:
        device = devices.setdefault(row, KeptDevice(name=name, outcome=outcome, verdict=verdict, complete=complete))
        if file is not None:
            device.captures[file] = sha256.hex()
    return list(devices.items())


def run_of(row: tuple[object, ...], devices: list[KeptDevice]) -> Run:
    """Return a run from its row (see ``RUNS_OF_SITE``) and its devices."""
    _, day, at, occasion, verdict, complete, file, sha256, tool, *figures, captured = row
    counts, findings, opened = figures[:6], figures[6], figures[7:]
    assert isinstance(day, int)
    assert isinstance(sha256, bytes)
    assert captured is None or isinstance(captured, int)
    return Run.model_validate(
        {
            "day": date.fromordinal(day),
            "captured": captured and date.fromordinal(captured),
            "at": at,
            "occasion": occasion,
            "verdict": verdict,
            "complete": complete,
            "plan": PlanFileRef(file=str(file), sha256=sha256.hex()),
            "tool": tool,
            "counts": dict(zip(_COUNTS, counts, strict=True)),
            "findings": findings,
            "open": dict(zip(CONSEQUENCES, opened, strict=True)),
            "devices": devices,
        }
    )


def traces_of(connection: sqlite3.Connection, run: int) -> Traces:
    """Return a run as far as tracing goes."""
    day, plan = connection.execute(
        "SELECT day, sha256 FROM run JOIN plan ON plan.id = run.plan WHERE run.id = ?", (run,)
    ).fetchone()
    audited = connection.execute(
        "SELECT name, outcome = 'audited', (SELECT group_concat(file || hex(sha256)) FROM capture"
        " WHERE capture.device = device.id) FROM run_device JOIN device ON device.id = device WHERE run = ?",
        (run,),
    ).fetchall()
    found = connection.execute(
        "SELECT key, id, device, setting, kind, consequence, effect, seen, since, before FROM run_finding"
        " JOIN finding ON finding.id = finding WHERE run = ?",
        (run,),
    )
    lifecycles = {row[0]: _lifecycle(row) for row in found}
    audits = {name: bool(done) for name, done, _ in audited}
    captured = {name: files or "" for name, _, files in audited}
    return Traces(date.fromordinal(day), plan.hex(), audits, captured, lifecycles)


def _lifecycle(row: Sequence[Any]) -> Lifecycle:
    key, texts, device, setting, kind, consequence, effect, seen, since, before = row
    return Lifecycle(
        key=key,
        row=texts,
        device=device,
        setting=setting,
        kind=kind,
        consequence=consequence,
        effect=effect,
        seen=bool(seen),
        since=date.fromordinal(since),
        before=date.fromordinal(before) if before else None,
    )


def last_seen(connection: sqlite3.Connection, site: int, keys: Iterable[str]) -> dict[str, date]:
    """Return on which day an earlier run of a site found each finding; those it never found are left out."""
    found: dict[str, date] = {}
    for key in keys:
        (day,) = connection.execute(
            "SELECT max(run.day) FROM finding JOIN run_finding ON run_finding.finding = finding.id AND seen"
            " JOIN run ON run.id = run_finding.run WHERE finding.key = ? AND run.site = ?",
            (key, site),
        ).fetchone()
        if day is not None:
            found[key] = date.fromordinal(day)
    return found


def delete_runs(connection: sqlite3.Connection, runs: Iterable[int]) -> None:
    """Delete runs, and what no other run refers to."""
    for run in runs:
        findings = connection.execute("SELECT finding FROM run_finding WHERE run = ?", (run,)).fetchall()
        devices = connection.execute("SELECT device FROM run_device WHERE run = ?", (run,)).fetchall()
        connection.execute("DELETE FROM run_finding WHERE run = ?", (run,))
        connection.execute("DELETE FROM run_device WHERE run = ?", (run,))
        connection.execute("DELETE FROM run WHERE id = ?", (run,))
        connection.executemany(
            "DELETE FROM finding WHERE id = ?1 AND NOT EXISTS (SELECT 1 FROM run_finding WHERE finding = ?1)", findings
        )
        unused = "NOT EXISTS (SELECT 1 FROM run_device WHERE run_device.device = ?1)"
        connection.executemany(f"DELETE FROM capture WHERE device = ?1 AND {unused}", devices)  # noqa: S608
        connection.executemany(f"DELETE FROM device WHERE id = ?1 AND {unused}", devices)  # noqa: S608
    connection.execute("DELETE FROM plan WHERE id NOT IN (SELECT plan FROM run)")
