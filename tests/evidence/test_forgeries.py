"""Forgeries whose sums all fit: whoever can change a file can write its sum anew, and the manifest with it."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from functools import cache, partial
from typing import Any

import pytest
from openpyxl import load_workbook

from auditor.app.auditing import audit
from auditor.app.verifying import verify
from auditor.evidence import Recorded, comparing, evidence_of
from auditor.evidence.archive import pack, unpack
from auditor.evidence.manifest import MANIFEST, SUMS, TOOL, sum_of
from auditor.evidence.verification import LIMITS
from auditor.history import History
from auditor.reports import FORMATS, KNOWN, pdf
from auditor.reports.interface import Format
from tests.compare.site import PASSPHRASES, TODAY, conforming, drifted
from tests.effort import share
from tests.evidence.made import (
    FILES,
    QUARRY,
    evidence,
    having,
    manifest_changed,
    manifest_with,
    rendered,
    report_changed,
    report_in,
    small,
    whole,
    wrong,
)

REPORT, PAGE, BOOK, PAPER = (
    f"reports/{name}" for name in ("report.json", "report.html", "findings.xlsx", "report.pdf")
)
AT = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)
PASSPHRASE = "ssids.Quarry Guest.passphrase_matches"
Change = Callable[[Any], None]


@cache
def paged() -> bytes:
    """Return evidence of the clinic: a device not captured, lines not understood, a drift; with a page."""
    site = drifted(QUARRY).without(*drifted(QUARRY).files_of("ap2"))
    return evidence(site, formats=tuple(form for form in FORMATS if f"reports/{form.file}" in (REPORT, PAGE)))


def forged_page(data: bytes) -> FILES:
    """Return the page without its first exposure."""
    page = unpack(data)[PAGE]
    assert b"telnet" in page
    return {PAGE: page.replace(b"telnet", b"ssh")}


def put(path: str, value: Any) -> Change:
    """Return what puts a value at a place such as ``findings.0.expected``; ``None`` takes a list's entry away."""

    def change(told: Any) -> None:
        steps: list[Any] = [int(step) if step.isdigit() else step for step in path.split("/")]
        for step in steps[:-1]:
            told = told[step]
        if value is None and isinstance(told, list):
            del told[steps[-1]]
        else:
            told[steps[-1]] = value

    return change


def entry(file: str, **keys: Any) -> Change:
    """Return what adds keys to the manifest's entry of a file."""

    def change(told: Any) -> None:
        next(one for one in told["files"] if one["file"] == file).update(keys)

    return change


def device(name: str, **keys: Any) -> Change:
    """Return what changes the manifest's entry of a device."""

    def change(told: Any) -> None:
        next(one for one in told["devices"] if one["name"] == name).update(keys)

    return change


def as_capture(file: str, name: str) -> bytes:
    """Return evidence with a file of the archive as the capture of a device that was not captured."""
    return manifest_changed(paged(), device("ap2", not_captured=None, files=[{"file": file, "name": name}]))


def approve(told: Any) -> None:
    """Approve the first finding, in the report alone."""
    approval = {"reason": "x", "approved_by": "owner", "ticket": "1", "until": "2099-01-01", "expired": False}
    told["findings"][0]["approved"] = approval


def without_a_finding(told: Any) -> None:
    """Take the first finding away and count again."""
    gone = told["findings"].pop(0)
    for counted in (told, *(one for one in told["devices"] if one["name"] == gone["device"])):
        counted["counts"]["nonconforming"] -= 1
        counted["counts"]["conforming"] += 1


def with_the_page(change: Change) -> bytes:
    return manifest_changed(having(paged(), forged_page(paged()), entries=True), change)


def captured(old: bytes, new: bytes) -> bytes:
    """Return evidence with a line of a capture changed, and its sum in report and manifest."""
    name = "captures/gw1.rsc"
    text = unpack(paged())[name]
    assert old in text
    changed = text.replace(old, new)

    def summed(told: Any) -> None:
        for one in told["devices"]:
            for capture in one["captures"]:
                if capture["sha256"] == sum_of(text):
                    capture["sha256"] = sum_of(changed)

    return report_changed(paged(), summed, {name: changed})


def planned(old: bytes, new: bytes) -> bytes:
    """Return evidence with a line of the plan changed, and its sum in report and manifest."""
    text = unpack(paged())["plan/plan.yaml"]
    assert old in text
    changed = text.replace(old, new)
    return report_changed(paged(), put("plan/sha256", sum_of(changed)), {"plan/plan.yaml": changed})


def renamed(old: str, new: str) -> bytes:
    """Return evidence with a file under another name."""
    return having(paged(), {old: None, new: unpack(paged())[old]}, entries=True)


FORGED: dict[str, tuple[Callable[[], bytes], str]] = {
    # a report is not what the audit gives, and the manifest has an excuse
    "the page": (lambda: having(paged(), forged_page(paged()), entries=True), PAGE),
    "the page, in the older form called incomparable": (lambda: with_the_page(entry(PAGE, made_with=None)), PAGE),
    "the page, called another library's": (
        lambda: with_the_page(lambda told: told["made_with"].update({PAGE: "another 1.0"})), PAGE),
    "the page, to be skipped": (lambda: with_the_page(entry(PAGE, skip=True)), PAGE),
    "the page, in a list of its own": (lambda: with_the_page(put("not_compared", [PAGE])), PAGE),
    "the page, called a capture": (
        lambda: with_the_page(device("gw1", files=[{"file": PAGE, "name": "gw1.rsc"}])), "captures/gw1.rsc"),
    "the page, called the plan": (lambda: with_the_page(put("plan/file", PAGE)), "not a plan"),
    "the page, under another name": (
        lambda: having(paged(), {PAGE: None, "reports/page.html": b"x"}, entries=True), "reports/page.html"),
    "the page, in other capitals": (lambda: renamed(PAGE, "reports/Report.html"), "reports/Report.html"),
    "a page that was added": (
        lambda: having(evidence(drifted(QUARRY), formats=FORMATS[:1]), {PAGE: b"<p>All is well."}, entries=True), PAGE),
    "a file that was added": (lambda: having(paged(), {"captures/gw2.rsc": b"x"}, entries=True), "captures/gw2.rsc"),
    "a file beside the folders": (lambda: having(paged(), {"README": b"All is well."}, entries=True), "README"),
    "report.json written in another way": (
        lambda: having(paged(), {REPORT: json.dumps(json.loads(unpack(paged())[REPORT])).encode()}, entries=True),
        "written in another way"),
    "report.json with a key more": (
        lambda: having(paged(), {REPORT: unpack(paged())[REPORT].replace(b"{", b'{"signed": true,', 1)}, entries=True),
        "not a report"),
    "report.json with a key twice": (
        lambda: having(paged(), {REPORT: unpack(paged())[REPORT].replace(b"{", b'{"site": "x",', 1)}, entries=True),
        "duplicate key"),
    # all formats say the same untruth
    "a finding removed": (lambda: report_changed(paged(), without_a_finding), "findings has"),
    "all findings removed": (lambda: report_changed(paged(), put("findings", [])), "findings has"),
    "a verdict": (lambda: report_changed(paged(), put("verdict", "conforming")), "verdict is conforming"),
    "a count": (lambda: report_changed(paged(), put("counts/nonconforming", 0)), "counts.nonconforming is 0"),
    "completeness": (lambda: report_changed(paged(), put("complete", True)), "complete is yes"),
    "a consequence": (lambda: report_changed(paged(), put("findings/0/consequence", "upkeep")), "consequence"),
    "a sentence": (lambda: report_changed(paged(), put("findings/0/effect", "nothing")), "effect is nothing"),
    "a quoted line": (lambda: report_changed(paged(), put("findings/0/evidence/0/text", "x")), "evidence[0].text"),
    "an approval in the report alone": (lambda: report_changed(paged(), approve), "approved"),
    "a command on the correction": (
        lambda: report_changed(paged(), put("findings/0/correction/commands/0", "erase startup-config")),
        "commands[0]",
    ),
    "what is unverified": (lambda: report_changed(paged(), put("unverified", [])), "unverified has 0 entries"),
    "a device that was not captured": (
        lambda: report_changed(paged(), put("devices/4/outcome", "audited")), "outcome is audited"),
    "a service path": (lambda: report_changed(paged(), put("services/paths", [])), "services.paths"),
    "a capture's count of lines": (lambda: report_changed(paged(), put("devices/0/captures/0/lines", 1)), "lines is 1"),
    # an input was changed, and its sums
    "a line of a capture": (lambda: captured(b"ranges=10.40.30.50-10.40.30.59", b"ranges=10.40.30.50-10.40.30.149"),
                            "findings has"),
    "a comment of a capture": (lambda: captured(b"# software id", b"# hardware id of the gateway\n#"), "lines is"),
    "a line of the plan": (lambda: planned(b"vlan: 10,", b"vlan: 11,"), REPORT),
    "an approval in the plan": (lambda: planned(b'ticket: "4711"', b'ticket: "4712"'), "ticket"),
    "a plan under another name": (lambda: manifest_changed(paged(), put("plan/name", "other.yaml")), "plan.file"),
    "a capture under another name": (
        lambda: manifest_changed(paged(), device("gw1", files=[{"file": "captures/gw1.rsc", "name": "gw2.rsc"}])),
        "gw2"),
    "a capture for two devices": (
        lambda: as_capture("captures/gw1.rsc", "gw1.rsc"), "gw1.rsc-2"),
    "the list of sums as a capture": (lambda: as_capture(SUMS, "ap2.txt"), "captures/ap2.txt"),
    "a capture that is not used": (lambda: manifest_changed(paged(), device("gw1", not_captured="off")), "outcome"),
    "why there is no capture": (lambda: manifest_changed(paged(), device("ap2", not_captured="a fire")), "a fire"),
    "a note on a capture": (lambda: manifest_changed(paged(), device("gw1", notes=["read twice"])), "notes"),
    # the manifest alone
    "the day": (lambda: manifest_with(paged(), audited_on="2026-11-26"), "differ in audited_on"),
    "the occasion": (lambda: manifest_with(paged(), occasion="acceptance"), "differ in occasion"),
    "the site": (lambda: manifest_with(paged(), site="another"), "differ in site"),
    "the tool": (lambda: manifest_with(paged(), tool="auditor 9.9"), "differ in tool"),
    "a device less": (lambda: manifest_changed(paged(), put("devices/4", None)), "devices"),
    "a device more": (
        lambda: manifest_changed(paged(), lambda told: told["devices"].append({"name": "gw2"})), "devices"),
    "devices in another order": (lambda: manifest_changed(paged(), lambda told: told["devices"].reverse()), "devices"),
    "files in another order": (lambda: manifest_changed(paged(), lambda told: told["files"].reverse()), "files"),
    "a file listed twice": (
        lambda: manifest_changed(paged(), lambda told: told["files"].append(told["files"][0])), "is listed twice"),
    "passphrases that were not compared": (lambda: manifest_with(paged(), passphrases=[]), "unverified"),
    "another variable": (lambda: manifest_with(paged(), passphrases=["QUARRY_GUEST", "HOME"]), "passphrases has"),
    "a key to be skipped": (lambda: manifest_with(paged(), skip=["reports"]), "skip should not be there"),
    "the manifest in another form": (
        lambda: having(paged(), {MANIFEST: json.dumps(json.loads(unpack(paged())[MANIFEST])).encode()}),
        "written in another way"),
    "a line more in the list of sums": (
        lambda: pack({**unpack(paged()), SUMS: unpack(paged())[SUMS] + b"0  all-is-well\n"}), "SHA256SUMS was altered"),
}  # fmt: skip
"""What was forged, and what is said of it."""


@pytest.mark.parametrize("name", share(FORGED, quick=5))
def test_a_forgery_whose_sums_fit_does_not_pass(name: str):
    forged, said = FORGED[name]
    found = verify(forged(), {})
    assert found.exit_code == 1, found.lines()
    assert found.headline.startswith(("DIFFERS: ", "ALTERED: "))
    assert said in "\n".join([found.headline, *wrong(found)]), wrong(found)
    assert len(found.lines()) < 25


def test_what_is_forged_would_pass_if_it_were_true():
    assert verify(paged(), PASSPHRASES).exit_code == 0
    assert verify(paged(), {}).headline.endswith("; 1 passphrase verdict taken from the archive, not checked")


@pytest.mark.parametrize("form", FORMATS, ids=lambda form: form.file)
def test_a_report_that_was_taken_away_is_missed(form: Format):
    """Its entry in the manifest is gone, too; report.json says which files were written."""
    name = f"reports/{form.file}"

    def unlisted(told: Any) -> None:
        told["made_with"].pop(name, None)

    data = manifest_changed(having(whole(), {name: None}, entries=True), unlisted)
    found = verify(data, PASSPHRASES)
    assert found.exit_code == 1
    assert f"{name} is missing" in wrong(found) or list(found.differs) == [name]


def test_a_report_that_was_never_written_is_named_in_the_headline():
    """Whoever takes a report away and its name out of report.json has made other evidence, which says so itself."""
    found = verify(having(paged(), {PAGE: None, REPORT: only_itself(paged())}, entries=True), PASSPHRASES)
    assert found.exit_code == 0
    assert PAGE in found.unwritten
    assert found.headline.endswith(" more were not written, as report.json says")
    assert verify(whole(), PASSPHRASES).unwritten == [f"reports/{form.file}" for form in KNOWN if form not in FORMATS]


def only_itself(data: bytes) -> bytes:
    """Return report.json saying that nothing else was written."""
    report = report_in(data).model_copy(update={"files": ["report.json"]})
    return (report.model_dump_json(indent=2) + "\n").encode()


@pytest.mark.parametrize("files", [[], ["report.html", "report.json"], ["report.json", "report.html", "page.html"],
                                   ["report.json", "report.html", "report.html"]])  # fmt: skip
def test_a_list_of_other_files_than_were_written_is_found(files: list[str]):
    assert verify(report_changed(paged(), put("files", files)), PASSPHRASES).exit_code == 1


# Reports in whose bytes a library has a say: the manifest names it, and a forger can name another one.


def forged_book(data: bytes) -> FILES:
    """Return the workbook with another verdict."""
    book = load_workbook(io.BytesIO(unpack(data)[BOOK]))
    cell = next(cell for row in book.worksheets[0].iter_rows() for cell in row if cell.value == "nonconforming")
    cell.value = "conforming"
    made = io.BytesIO()
    book.save(made)
    return {BOOK: made.getvalue()}


def packed_otherwise(data: bytes) -> FILES:
    """Return the workbook with the same contents, compressed in another way."""
    made = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(unpack(data)[BOOK])) as old, zipfile.ZipFile(made, "w") as new:
        for name in old.namelist():
            new.writestr(name, old.read(name))
    return {BOOK: made.getvalue()}


OTHERS = {BOOK: "openpyxl 9.9, zlib 1", PAPER: "typst 9.9"}
"""Other versions of the libraries that make these reports."""


def by_another(name: str, files: FILES) -> bytes:
    """Return evidence with other contents of a report, which another version of its library is said to have made."""
    data = having(whole(), files, entries=True)
    return manifest_changed(data, lambda told: told["made_with"].update({name: OTHERS[name]}))


def named(name: str, library: str) -> Change:
    """Return what names a library for a report."""
    return lambda told: told["made_with"].update({name: library})


@pytest.mark.slow
def test_a_workbook_is_compared_by_its_cells_where_another_library_made_it():
    for data in (having(whole(), forged_book(whole()), entries=True), by_another(BOOK, forged_book(whole()))):
        found = verify(data, PASSPHRASES)
        assert (found.exit_code, list(found.differs)) == (1, [BOOK])
    for damaged in (b"", b"PK", unpack(whole())[BOOK][:-30]):
        assert list(verify(by_another(BOOK, {BOOK: damaged}), PASSPHRASES).differs) == [BOOK]
    found = verify(by_another(BOOK, packed_otherwise(whole())), PASSPHRASES)
    assert (found.exit_code, found.differs) == (3, {})
    count = len(unpack(whole())) - 1
    assert found.headline == (
        f"NOT REPEATED: 1 of {count + 1} files (findings.xlsx); {count} files match, and the audit gives the same "
        "report again"
    )
    assert f"not repeated: {BOOK}: made with openpyxl 9.9, zlib 1, here is openpyxl " in found.lines()[2]
    assert "what it says was not checked" in found.lines()[2]
    assert verify(having(whole(), packed_otherwise(whole()), entries=True), PASSPHRASES).exit_code == 1


def test_a_library_that_is_named_and_gives_the_same_bytes_all_the_same_is_no_matter():
    data = by_another(BOOK, {})
    assert verify(data, PASSPHRASES).exit_code == 0


def unnamed(name: str, told: Any) -> None:
    """Name no library for a report."""
    del told["made_with"][name]


@pytest.mark.slow
def test_a_library_that_is_not_named_is_no_excuse():
    data = having(whole(), {BOOK: b"x"}, entries=True)
    found = verify(manifest_changed(data, partial(unnamed, BOOK)), PASSPHRASES)
    assert (found.exit_code, list(found.differs)) == (1, [BOOK, MANIFEST])


NO_LIBRARY = (
    "typst 9.9.9", "pydantic 1", "lxml 1, openpyxl 3", "openpyxl", "openpyxl 1, x 2", "openpyxl 1, openpyxl 2",
    "openpyxl 1 or so",
)  # fmt: skip


@pytest.mark.parametrize("library", share(NO_LIBRARY, quick=7))
def test_what_is_no_library_of_a_format_is_no_excuse(library: str):
    for files in ({}, packed_otherwise(whole())):
        data = manifest_changed(having(whole(), files, entries=True), named(BOOK, library))
        found = verify(data, PASSPHRASES)
        assert (found.exit_code, list(found.differs)) == (1, [BOOK])


@pytest.mark.parametrize("library", ["", "pydantic 1"])
def test_the_schema_is_the_same_with_every_library(library: str):
    name = "reports/report.schema.json"
    data = having(whole(), {name: b"{}"}, entries=True)
    found = verify(manifest_changed(data, named(name, library)) if library else data, PASSPHRASES)
    assert found.exit_code == 1
    assert name in found.differs


@pytest.mark.slow
@pytest.mark.skipif(not pdf.installed(), reason="needs the extra pdf")
def test_a_pdf_that_was_forged_or_added_does_not_pass():
    forged = {PAPER: unpack(whole())[PAPER].replace(b"/Title", b"/Titel", 1)}
    assert list(verify(having(whole(), forged, entries=True), PASSPHRASES).differs) == [PAPER]
    found = verify(having(paged(), forged, entries=True), PASSPHRASES)
    assert (found.exit_code, list(found.differs)) == (1, [PAPER, MANIFEST])
    added = manifest_changed(having(paged(), forged, entries=True), named(PAPER, "typst 9.9"))
    assert list(verify(added, PASSPHRASES).differs) == [PAPER]
    found = verify(data := by_another(PAPER, forged), PASSPHRASES)
    assert found.exit_code == 3
    assert found.headline.startswith(f"NOT REPEATED: 1 of {len(unpack(data))} files (report.pdf); ")
    assert f"; {len(unpack(data)) - 1} files match" in found.headline
    assert not any("VERIFIED" in line for line in found.lines())


def test_a_pdf_where_the_extra_is_missing_is_not_compared(monkeypatch: pytest.MonkeyPatch):
    told = report_in(whole()).model_copy(update={"files": ["report.json", "report.pdf"]})
    few = [f"reports/{form.file}" for form in FORMATS if form.file not in told.files]
    forged = {REPORT: (told.model_dump_json(indent=2) + "\n").encode(), PAPER: b"%PDF-1.7 All is well."}
    data = having(whole(), {**dict.fromkeys(few), **forged}, entries=True)
    data = manifest_changed(data, put("made_with", {PAPER: "typst 0.13"}))
    missing = replace(pdf.FORMAT, installed=lambda: False)
    monkeypatch.setitem(comparing.FORMS, PAPER, missing)
    found = verify(data, PASSPHRASES)
    assert found.exit_code == 3
    assert "the same report again; 1 file not compared (report.pdf); " in found.headline
    assert f"  not compared: {PAPER}: it cannot be made here: install auditor with the extra for it" in found.lines()


@pytest.mark.slow
@pytest.mark.skipif(not pdf.installed(), reason="needs the extra pdf")
def test_a_pdf_with_letters_of_the_machines_fonts_is_compared_where_it_gives_the_same_bytes(
    monkeypatch: pytest.MonkeyPatch,
):
    few = tuple(form for form in FORMATS if form.file in ("report.json", "report.pdf"))
    monkeypatch.setitem(comparing.FORMS, PAPER, replace(pdf.FORMAT, of_machine=lambda _: True))
    data = evidence(drifted(QUARRY), formats=few)
    assert verify(data, PASSPHRASES).exit_code == 0
    found = verify(having(data, {PAPER: b"x"}, entries=True), PASSPHRASES)
    assert (found.exit_code, list(found.unrepeated)) == (3, [PAPER])


# What cannot be looked into without the environment, the history, or the other version.


def flipped_verdict(told: Any) -> None:
    """Say that the passphrase on ap1 is another one than planned."""
    setting = {"device": "ap1", "setting": PASSPHRASE, "area": "ssids", "kind": "differs"}
    finding = {"id": "0" * 12, "consequence": "outage", "effect": "x", "expected": True, "observed": False}
    told["findings"].append({**finding, **setting})


def test_a_flipped_verdict_on_a_passphrase_passes_nowhere_unsaid():
    """The forger ran the tool: all else of the report follows from the verdict that was taken."""
    data = evidence(drifted(QUARRY), {"QUARRY_GUEST": "badgers are welcome here"}, formats=FORMATS[:3])
    assert PASSPHRASE in {finding.setting for finding in report_in(data).findings}
    found = verify(data, PASSPHRASES)
    assert found.exit_code == 1
    found = verify(data, {})
    assert found.exit_code == 3
    assert found.headline.endswith("; 2 passphrase verdicts taken from the archive, not checked")
    assert verify(report_changed(paged(), flipped_verdict), {}).exit_code == 1


def test_a_verdict_cannot_be_called_one_that_the_device_never_shows():
    site = drifted(QUARRY)
    wrongly = evidence(site, {"QUARRY_GUEST": "badgers are welcome here"}, formats=FORMATS[:1])

    def hidden(told: Any) -> None:
        gone = [finding for finding in told["findings"] if finding["setting"] == PASSPHRASE]
        told["findings"] = [finding for finding in told["findings"] if finding not in gone]
        for finding in gone:
            why = "the capture does not show the passphrase, or only stored irreversibly"
            told["unverified"].append(
                {"device": finding["device"], "setting": PASSPHRASE, "why": why, "cause": "never-shown"}
            )
        for counted in (told, *(device for device in told["devices"] if device["name"] in ("ap1", "ap2"))):
            number = 2 if counted is told else 1
            for counts in (counted["counts"], *([counted["areas"]["ssids"]] if "areas" in counted else [])):
                counts["nonconforming"] -= number
                counts["unverified"] += number

    for environment in ({}, PASSPHRASES):
        assert verify(report_changed(wrongly, hidden), environment).exit_code == 1


@pytest.fixture(scope="module")
def second(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """Evidence of the clinic's second audit: findings that persist, that are new and that are gone."""
    path = tmp_path_factory.mktemp("history") / "history.sqlite"
    first = drifted(QUARRY).having("gw1.rsc", conforming(QUARRY).files["gw1.rsc"])
    later = drifted(QUARRY).having("ap2/wireless", conforming(QUARRY).files["ap2/wireless"])
    with History.begin(path, AT) as history:
        for site, day in ((first, TODAY - timedelta(days=31)), (later, TODAY)):
            recorded = Recorded(site.plan, site)
            report = history.add(audit(site.plan, recorded, today=day, environment=PASSPHRASES), AT)
    return evidence_of(recorded, report, rendered(report, FORMATS[:3]), PASSPHRASES)


@pytest.mark.slow
def test_changes_since_the_audit_before_are_said_to_be_the_archives_word(second: bytes):
    found = verify(second, PASSPHRASES)
    assert (wrong(found), found.exit_code) == ([], 0)
    assert found.headline.endswith("; changes since 2026-10-25 taken from the archive, not checked")
    assert "the history is not in the archive" in found.lines()[2]


SINCE: dict[str, Change] = {
    "one is gone that is there": put("since/findings/0/course", "gone"),
    "one is left out": put("since/findings/0", None),
    "one is there twice": lambda told: told["since"]["findings"].append(told["since"]["findings"][0]),
    "one is called another": put("since/findings/0/setting", "management.snmp"),
    "one is worse than it was": put("since/findings/0/effect", "all is well"),
    "one is new and was there long before": put("since/findings/0/since", "2026-01-01"),
    "one came back from nowhere": put("since/findings/0/course", "came back"),
    "one persists that is not there": lambda told: told["since"]["findings"][-1].update(course="persists"),
}


@pytest.mark.slow
def test_changes_that_are_at_odds_with_the_findings_are_found(second: bytes):
    told = json.loads(unpack(second)[REPORT])["since"]
    courses = [finding["course"] for finding in told["findings"]]
    assert (courses[0], courses[-1]) == ("new", "gone")
    for name, change in SINCE.items():
        found = verify(report_changed(second, change), PASSPHRASES)
        assert (name, found.exit_code) == (name, 1)
        assert any("since" in text for text in wrong(found)), name


def test_evidence_of_another_version_is_not_called_verified():
    told = json.loads(unpack(small())[REPORT])
    other = having(small(), {REPORT: json.dumps({**told, "tool": "auditor 0.0.9"}).encode()}, entries=True)
    other = manifest_with(other, tool="auditor 0.0.9", format="auditor-evidence/1")
    for data in (other, having(other, forged_page(paged()), entries=True)):
        found = verify(data, PASSPHRASES)
        assert found.exit_code == 3
        this = TOOL.removeprefix("auditor ")
        count = len(unpack(data))
        assert found.headline == f"NOT REPEATED: all {count} files match; made by auditor 0.0.9, this is {this}"
        assert LIMITS not in found.lines()
        assert "what the reports say was not checked" in found.lines()[-1]
        assert "VERIFIED" not in "\n".join(found.lines())
    altered = having(other, {"captures/gw1.rsc": b"x"}, sums=False)
    assert verify(altered, PASSPHRASES).headline.startswith("ALTERED: captures/gw1.rsc was altered")
    assert verify(having(other, {"captures/gw1.rsc": b"x"}), PASSPHRASES).exit_code == 1
    assert verify(having(other, {"captures/x": b"x"}), PASSPHRASES).exit_code == 1
    assert verify(manifest_with(other, tool="auditor 0.0.8"), PASSPHRASES).exit_code == 1


def test_another_form_of_the_same_version_is_another_build():
    found = verify(manifest_with(small(), format="auditor-evidence/1"), PASSPHRASES)
    assert found.exit_code == 3
    assert f"made by another build of {TOOL} (auditor-evidence/1" in found.headline


def test_what_another_build_gives_says_so():
    found = verify(report_changed(small(), put("findings/0/effect", "said in other words")), PASSPHRASES)
    assert any(line.startswith(f"  Another build of {TOOL}") for line in found.lines())


def test_a_forger_who_runs_the_tool_is_not_found_and_that_is_said():
    """On forged captures, on another day, for another occasion: such an archive is as good as a true one."""
    data = evidence(conforming(QUARRY), formats=FORMATS[:3], today=date(2027, 1, 1), occasion="acceptance")
    found = verify(data, PASSPHRASES)
    assert found.exit_code == 0
    assert "does not show who made the archive" in found.lines()[-1]
