"""Planted secrets of every dialect, in every output: reports, evidence, history, what is read, what goes wrong."""

from __future__ import annotations

import html
import io
import json
import re
import shutil
import subprocess
import zipfile
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
from rich.console import Console

from auditor.app.auditing import audit
from auditor.app.verifying import verify
from auditor.areas import read
from auditor.capture.interface import Captured
from auditor.compare.age import dated
from auditor.core.report import Report
from auditor.evidence import Recorded, evidence_of
from auditor.history import History
from auditor.platforms import catalogue
from auditor.reports import FORMATS
from auditor.reports.reading import reading_json, show_reading
from auditor.reports.terminal import show
from auditor.reports.view import view_of
from tests.compare.site import PASSPHRASES, TODAY
from tests.effort import share
from tests.reading.test_secrets import told
from tests.redact.planting import Planting, planting, platforms

AT = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)
ESCAPES = re.compile(r"\\u[0-9a-f]{4}|\\.")


def test_there_are_forms_of_every_dialect():
    counts = {platform: len(planting(platform).planted) for platform in platforms()}
    assert set(counts) <= set(catalogue.names())
    assert len(counts) >= 12
    assert {name: count for name, count in counts.items() if count < 60} == {}
    assert sum(counts.values()) >= 900
    assert all(one.secrets for platform in platforms() for one in planting(platform).planted if "«" in one.form)


@pytest.mark.parametrize("platform", share(platforms(), quick=5))
def test_no_planted_secret_is_in_any_output(platform: str, tmp_path: Path):
    planted = planting(platform)
    captured = b"".join(planted.site.files.values()).decode()
    assert [one.text for one in planted.planted if one.text not in captured] == []
    shown = "\n".join(outputs(planted, tmp_path))
    assert "frobnicate" in shown  # lines that were not understood are quoted, and hold secrets
    blank = re.sub(r"\s+", "", shown)
    survived = {form for secret, form in planted.secrets if secret in shown or re.sub(r"\s+", "", secret) in blank}
    assert survived == set()


def outputs(planted: Planting, folder: Path) -> Iterator[str]:
    """Yield all that the program writes or prints of a site, as text: what is packed or escaped is unpacked."""
    site = planted.site
    recorded = Recorded(site.plan, site, PASSPHRASES)
    report = audit(site.plan, recorded, today=TODAY, environment=PASSPHRASES, occasion="acceptance")
    with History.begin(folder / "history.sqlite", AT) as history:
        report = history.add(report, AT)
    for path in folder.iterdir():
        yield from plain(path.name, path.read_bytes())
    yield from audited(recorded, report)
    plain_report = audit(site.plan, site, today=TODAY, environment=PASSPHRASES)
    yield plain_report.model_dump_json()
    for device in site.plan.data.devices:
        captured = site.capture(device)
        assert isinstance(captured, Captured)
        reading = read(site.plan.data.devices[device].platform, captured.files)
        yield from (told(reading), repr(reading.blocks), reading.problem, reading_json(reading))
        stream = io.StringIO()
        day = dated(captured.known_days(reading.days), TODAY)
        show_reading(reading, day, TODAY, Console(file=stream, width=10_000))
        yield stream.getvalue()


def audited(recorded: Recorded, report: Report) -> Iterator[str]:
    view = view_of(report)
    stream = io.StringIO()
    show(view, Console(file=stream, width=10_000))
    yield stream.getvalue()
    written = {form: form.render(view) for form in FORMATS}
    for form, data in written.items():
        yield from plain(form.file, data)
    evidence = evidence_of(recorded, report, written, PASSPHRASES)
    yield from plain("evidence.zip", evidence)
    found = verify(evidence, PASSPHRASES)
    yield "\n".join(found.lines())


def plain(name: str, data: bytes) -> Iterator[str]:
    """Yield what somebody finds in a file who opens it with the right tool, or with none."""
    yield data.decode("latin-1")
    text = data.decode(errors="replace")
    yield from (text, html.unescape(text))
    if data.startswith(b"PK"):
        with zipfile.ZipFile(io.BytesIO(data)) as archive:
            for member in archive.namelist():
                yield from plain(member, archive.read(member))
    elif data.startswith(b"%PDF") and shutil.which("pdftotext"):
        run = subprocess.run(["pdftotext", "-raw", "-", "-"], input=data, capture_output=True, check=True)
        yield run.stdout.decode()
    elif name.endswith((".json", ".sarif")):
        yield ESCAPES.sub(lambda match: str(json.loads(f'"{match[0]}"')), text)


@pytest.mark.parametrize("platform", platforms())
def test_what_is_taken_out_leaves_the_lines_and_stays_out(platform: str):
    site = planting(platform).site
    once = {device: Recorded(site.plan, site).capture(device) for device in site.plan.data.devices}
    for device, captured in once.items():
        before = site.capture(device)
        assert isinstance(captured, Captured)
        assert isinstance(before, Captured)
        for one, other in zip(before.files, captured.files, strict=True):
            assert one.data.count(b"\n") == other.data.count(b"\n")
    again = Recorded(site.plan, site)
    again._source = type("Once", (), {"capture": staticmethod(once.__getitem__)})()
    assert {device: again.capture(device) for device in once} == once
