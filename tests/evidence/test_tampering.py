"""Evidence that somebody has changed, and archives that are made to hurt: found, named, refused."""

from __future__ import annotations

import io
import json
import os
import random
import stat
import zipfile
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from auditor.app.verifying import verify
from auditor.cli import cli
from auditor.errors import EvidenceError, ReportError
from auditor.evidence import archive
from auditor.evidence.archive import MAX_FILES, load, pack, unpack
from auditor.evidence.integrity import MAX_JSON
from auditor.evidence.manifest import MANIFEST, SUMS, TOOL
from auditor.plan.loader import parse
from auditor.reports import FORMATS
from tests.compare.site import PASSPHRASES, conforming, drifted, plan_text
from tests.evidence.made import QUARRY, evidence, flipped, having, manifest_with, place_of, small, wrong

REPORT = "reports/report.json"


def names() -> list[str]:
    """Return the names of the files in evidence."""
    return sorted(unpack(small()))


@pytest.mark.parametrize("part", [0.0, 0.5, 0.999])
def test_a_flipped_bit_in_a_file_is_found_and_the_file_named(part: float):
    for name in names():
        at = place_of(small(), name) + int(part * len(unpack(small())[name]))
        found = verify(flipped(small(), at), PASSPHRASES)
        assert found.exit_code == 1, name
        assert any(name in text for text in wrong(found)), wrong(found)
        assert found.headline.startswith("ALTERED: "), name
        assert found.headline.endswith("; the audit was not repeated"), name


@pytest.mark.slow
def test_a_flipped_bit_anywhere_is_found():
    """Every bit of what stands around the files, and of some places in them."""
    data = small()
    inside: set[int] = set()
    for name, contents in unpack(data).items():
        start = place_of(data, name)
        inside.update(range(start, start + len(contents)))
    around = [at for at in range(len(data)) if at not in inside]
    for at in around:
        try:
            found = verify(flipped(data, at), PASSPHRASES)
        except EvidenceError:
            continue
        assert found.exit_code == 1, at
    for at in random.Random(4711).sample(sorted(inside), 60):
        assert verify(flipped(data, at), PASSPHRASES).exit_code == 1, at


@pytest.mark.parametrize("entries", [False, True])
def test_a_file_that_was_taken_away_is_missed(entries: bool):
    for name in sorted({*names()} - {MANIFEST, SUMS}):
        found = verify(having(small(), {name: None}, sums=entries), PASSPHRASES)
        assert found.exit_code == 1, name
        assert f"{name} is missing" in wrong(found)


def test_manifest_and_sums_are_missed():
    assert f"{MANIFEST} is missing" in wrong(verify(having(small(), {MANIFEST: None}, sums=False), PASSPHRASES))
    assert wrong(verify(having(small(), {SUMS: None}, sums=False), PASSPHRASES)) == [f"{SUMS} is missing"]


@pytest.mark.parametrize("name", ["captures/core2.cfg", "a.txt", "zz/zz", "reports/more.html"])
def test_a_file_that_was_added_is_named(name: str):
    assert f"{name} was added" in wrong(verify(having(small(), {name: b"x"}, sums=False), PASSPHRASES))
    assert f"{name} was added" in wrong(verify(having(small(), {name: b"x"}), PASSPHRASES))
    found = verify(having(small(), {name: b"x"}, entries=True), PASSPHRASES)
    assert found.exit_code == 1
    assert f"DIFFERS: 1 of {len(unpack(small())) + 1} files is not what the audit gives again: {name}" in found.headline


def test_a_file_whose_sum_was_put_right_in_one_list_alone_is_found():
    name = "captures/gw1.rsc"
    changed = {name: unpack(small())[name] + b"# more\n"}
    assert f"{name} was altered" in wrong(verify(having(small(), changed), PASSPHRASES))
    assert f"{name} was altered" in wrong(verify(having(small(), changed, entries=True, sums=False), PASSPHRASES))


SWAPS: dict[str, tuple[str, bytes, bytes, str]] = {
    "a capture": ("captures/gw1.rsc", b"ranges=10.40.10.50-", b"ranges=10.40.10.51-", "findings"),
    "a capture, in a comment": (
        "captures/gw1.rsc",
        b"# software id",
        b"# hardware id",
        "captures[0].sha256",
    ),
    "the plan": ("plan/plan.yaml", b"vlan: 10", b"vlan: 11", "plan.sha256"),
    "a figure of the report": (REPORT, b'"conforming": 5', b'"conforming": 6', "conforming"),
    "the report's verdict": (REPORT, b'"verdict": "nonconforming"', b'"verdict": "conforming"', "verdict"),
    "an approval": ("plan/plan.yaml", b'ticket: "4711"', b'ticket: "4712"', "ticket"),
    "another format": ("reports/report.md", b"core1", b"core2", "reports/report.md"),
}


@pytest.mark.parametrize("swap", SWAPS.values(), ids=list(SWAPS))
def test_a_swap_with_all_sums_put_right_gives_another_report(swap: tuple[str, bytes, bytes, str]):
    name, old, new, key = swap
    contents = unpack(small())[name]
    assert old in contents
    data = having(small(), {name: contents.replace(old, new, 1)}, entries=True)
    found = verify(data, PASSPHRASES)
    assert found.exit_code == 1
    assert any(key in text for text in wrong(found)), wrong(found)
    assert found.headline.startswith("DIFFERS: ")


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("site", "x"),
        ("reference", "x"),
        ("occasion", "routine"),
        ("audited_on", "2026-11-26"),
        ("max_age", None),
        ("devices", []),
    ],
)
def test_a_manifest_that_says_something_else_than_the_report_is_found(key: str, value: object):
    found = verify(manifest_with(small(), **{key: value}), PASSPHRASES)
    assert found.exit_code == 1
    assert any(key in text or "belongs to no device" in text for text in wrong(found))


def test_a_day_after_an_approval_gives_another_report():
    made = evidence(drifted(QUARRY), formats=FORMATS[:1], max_age=None)
    later = {**json.loads(unpack(made)[REPORT]), "audited_on": "2100-01-01"}
    data = having(made, {REPORT: json.dumps(later, indent=2).encode()}, entries=True)
    found = verify(manifest_with(data, audited_on="2100-01-01"), PASSPHRASES)
    assert any("expired is no, auditing again gives yes" in text for text in wrong(found))


@pytest.mark.parametrize("key", ["format", "files", "plan"])
def test_a_manifest_without_a_key_is_none(key: str):
    told = json.loads(unpack(small())[MANIFEST])
    del told[key]
    data = having(small(), {MANIFEST: json.dumps(told).encode()})
    with pytest.raises(EvidenceError, match=key):
        verify(data, PASSPHRASES)


@pytest.mark.parametrize("text", [b"", b"[]", b"{}", b"null", b"\xff", b"[" * 100_000, b"1" * 10_000])
def test_a_manifest_of_something_else_is_none(text: bytes):
    with pytest.raises(EvidenceError, match=r"manifest\.json cannot be used"):
        verify(having(small(), {MANIFEST: text}), PASSPHRASES)


@pytest.mark.parametrize(
    "text", [b"", b"[]", b"{}", b"[" * 100_000, b'{"format": 1}', b"\xff", b'{"site": ' + b"1" * 10_000 + b"}"]
)
def test_a_report_of_something_else_is_none(text: bytes):
    found = verify(having(small(), {REPORT: text}, entries=True), PASSPHRASES)
    assert any(REPORT in told and "not a report" in told for told in wrong(found))


def test_a_plan_that_is_none_is_none():
    found = verify(having(small(), {"plan/plan.yaml": b"format: 1\nsite: [\n"}, entries=True), PASSPHRASES)
    assert any("plan/plan.yaml: not a plan that can be audited" in told for told in wrong(found))


def test_what_was_packed_anew_is_told_from_what_was_not():
    files = unpack(small())
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as other:
        for name in sorted(files, reverse=True):
            entry = zipfile.ZipInfo(name, (2026, 1, 1, 0, 0, 0))
            entry.external_attr = (stat.S_IFREG | 0o600) << 16
            other.writestr(entry, files[name])
    found = verify(made.getvalue(), PASSPHRASES)
    assert found.altered == ["the archive was packed again, or holds more than its files"]


def archive_of(
    *entries: tuple[str, bytes], mode: int = stat.S_IFREG | 0o644, method: int = zipfile.ZIP_STORED
) -> bytes:
    """Return an archive as any tool makes one."""
    made = io.BytesIO()
    with pytest.MonkeyPatch.context() as patch, zipfile.ZipFile(made, "w", method) as other:
        patch.setattr("warnings.warn", lambda *_, **__: None)  # of two files with one name
        for name, contents in entries:
            entry = zipfile.ZipInfo(name)
            entry.external_attr = mode << 16
            entry.compress_type = method
            other.writestr(entry, contents)
    return made.getvalue()


def overlapping() -> bytes:
    """Return an archive whose two files share their bytes: the second one's entry points at the first one's."""
    data = bytearray(archive_of(("a", b"x" * 1000), ("b", b"x" * 1000)))
    second = data.rindex(b"PK\1\2")
    data[second + 42 : second + 46] = (0).to_bytes(4, "little")
    start = data.index(b"PK\3\4", 4)
    gone = data.index(b"PK\1\2") - start
    del data[start : start + gone]
    end = data.rindex(b"PK\5\6")
    data[end + 16 : end + 20] = start.to_bytes(4, "little")
    return bytes(data)


STRANGE = "no evidence has a file with this name"


def with_bits(data: bytes, at: int, in_directory: int, value: bytes) -> bytes:
    """Return an archive with other bytes at a place of its first file's header and of the entry in its directory."""
    made = bytearray(data)
    start = made.index(b"PK\1\2")
    for place in (at, start + in_directory):
        made[place : place + len(value)] = value
    return bytes(made)


def manifest_of(old: str, new: str) -> bytes:
    """Return evidence with some text of its manifest replaced."""
    text = unpack(small())[MANIFEST].decode()
    assert old in text
    return having(small(), {MANIFEST: text.replace(old, new, 1).encode()})


HOSTILE: dict[str, tuple[Callable[[], bytes], str]] = {
    "nothing": (lambda: b"", "not a zip archive"),
    "text": (lambda: b"PK is how it begins", "not a whole zip archive"),
    "cut": (lambda: small()[:-1], "not a whole zip archive"),
    "something behind it": (lambda: small() + b"x", "something after its end"),
    "half": (lambda: small()[: len(small()) // 2], "not a whole zip archive"),
    "an empty archive": (archive_of, "not a zip archive|no manifest"),
    "another archive": (lambda: archive_of(("a.txt", b"x")), f"it has no {MANIFEST}"),
    "a way up": (lambda: archive_of(("../a", b"x")), "points outside"),
    "a way up inside": (lambda: archive_of(("captures/../../a", b"x")), "points outside"),
    "an absolute name": (lambda: archive_of(("/etc/passwd", b"x")), "points outside"),
    "a drive": (lambda: archive_of(("C:/a", b"x")), STRANGE),
    "a backslash": (lambda: archive_of(("..\\a", b"x")), STRANGE),
    "a control": (lambda: archive_of(("a\x1b[31m", b"x")), STRANGE),
    "a letter of another script": (lambda: archive_of(("\u202ea", b"x")), STRANGE),
    "a long name": (lambda: archive_of(("a" * 5000, b"x")), STRANGE),
    "a name with an end in it": (lambda: archive_of(("abc", b"x")).replace(b"abc", b"a\0c"), STRANGE),
    "names that differ in capitals": (lambda: archive_of(("plan/a", b"x"), ("plan/A", b"y")), "the same name"),
    "one name twice": (lambda: archive_of((MANIFEST, b"x"), (MANIFEST, b"y")), "the same name"),
    "a link": (lambda: archive_of(("a", b"/etc/passwd"), mode=stat.S_IFLNK | 0o777), "not an ordinary file"),
    "a folder": (lambda: archive_of(("a/", b"")), "is a folder: it was packed again"),
    "a device": (lambda: archive_of(("a", b""), mode=stat.S_IFBLK | 0o644), "not an ordinary file"),
    "a bomb": (lambda: archive_of(("a", b"\0" * 50_000_000), method=zipfile.ZIP_DEFLATED), "compressed"),
    "an encrypted file": (lambda: with_bits(archive_of(("a", b"x")), 6, 8, b"\1\0"), "encrypted"),
    "a method that nobody knows": (lambda: with_bits(archive_of(("a", b"x")), 8, 10, b"\x63\0"), "compressed"),
    "another method": (lambda: archive_of(("a", b"x" * 999), method=zipfile.ZIP_LZMA), "compressed"),
    "a size beyond its end": (lambda: with_bits(archive_of(("a", b"x")), 18, 20, b"\xff\xff\xff\x0f" * 2), "larger"),
    "a manifest too large": (
        lambda: having(small(), {MANIFEST: b" " * (MAX_JSON + 1)}), r"manifest\.json cannot be used: it is too large"),
    "a key twice": (lambda: manifest_of("{", '{"site": "x",'), "duplicate key"),
    "a number that is none": (lambda: manifest_of('"size": ', '"size": NaN, "was": '), "NaN is not a JSON number"),
    "a number without an end": (lambda: manifest_of('"size": ', '"size": 1e999, "was": '), "size"),
    "a key nested deeply": (lambda: manifest_of("{", '{"x": ' + "[" * 9999 + "]" * 9999 + ","), "cannot be used"),
    "half a letter": (lambda: manifest_of("Quarry Road", "\\ud800"), "Invalid JSON"),
    "a tool that says it is well": (lambda: manifest_of(TOOL, f"{TOOL}, VERIFIED: all files match"), "tool"),
    "a tool with a control": (lambda: manifest_of(TOOL, f"{TOOL}\\u001b[2J"), "tool"),
    "a format with a control": (lambda: manifest_of("auditor-evidence/4", "auditor-evidence/\\u001b[2J"), "format"),
    "a format of something else": (lambda: manifest_of("auditor-evidence/4", "another/2"), "format"),
    "a library that says it is well": (
        lambda: manifest_of('"made_with": {}', '"made_with": {"x": "VERIFIED: all files match"}'), "made_with"),
    "files on top of each other": (overlapping, "larger than itself"),
    "very many files": (lambda: archive_of(*((f"f{n}", b"") for n in range(MAX_FILES + 1))), "more files than"),
}  # fmt: skip


@pytest.mark.parametrize(("made", "said"), HOSTILE.values(), ids=list(HOSTILE))
def test_what_is_no_evidence_is_refused(made: Callable[[], bytes], said: str):
    with pytest.raises(EvidenceError, match=said) as caught:
        verify(made(), PASSPHRASES)
    assert str(caught.value).isprintable()


WRONG: list[Any] = [
    None,
    True,
    -1,
    1e308,
    "",
    "x" * 5000,
    "\x1b[2J\n",
    [],
    [[]],
    {},
    {"file": "../x"},
    ["plan/plan.yaml"],
]
"""Values that some place of a manifest is not made for."""


def places_in(told: Any) -> Iterator[tuple[Any, Any]]:
    """Yield mapping and key of each place in JSON; of a list the places of its first entry."""
    for key in list(told) if isinstance(told, dict) else [0] if told else []:
        yield told, key
        if isinstance(told[key], dict | list):
            yield from places_in(told[key])


def what_is_said(data: bytes) -> list[str]:
    """Return the lines about evidence, or the error."""
    try:
        return verify(data, {}).lines()
    except EvidenceError as error:
        return [str(error)]


@pytest.mark.slow
def test_wrong_values_in_a_manifest_are_refused_or_found():
    told = json.loads(unpack(small())[MANIFEST])
    places = list(places_in(told))
    assert len(places) > 25
    for number, (holder, key) in enumerate(places):
        right = holder[key]
        for value in WRONG[number % 2 :: 2]:
            holder[key] = value
            lines = what_is_said(having(small(), {MANIFEST: json.dumps(told).encode()}))
            assert lines[0].startswith((MANIFEST, "ALTERED", "DIFFERS")), (key, value)
            assert all(line.isprintable() and len(line) < 400 for line in lines)
        holder[key] = right


def test_what_is_no_file_is_not_read(tmp_path: Path):
    os.mkfifo(tmp_path / "pipe")
    for path in (tmp_path, tmp_path / "pipe", Path("/dev/zero")):
        with pytest.raises(EvidenceError, match="not a file"):
            load(path)


def test_names_of_a_site_cannot_be_taken_for_what_is_found():
    """The headline comes first, and has nothing of the archive in it but names of files and of its version."""
    plan = plan_text("harbour-bakery").replace(
        "site: Harbour Street Bakery", 'site: "VERIFIED: all\\e[2J files match \\u202e"'
    )
    site = replace(conforming("harbour-bakery"), plan=parse("plan.yaml", plan.encode()))
    data = evidence(site, formats=FORMATS[:1])
    found = verify(data, PASSPHRASES)
    assert found.lines()[1].startswith("Evidence of VERIFIED: all\\u001b[2J files match \\u202e")
    altered = verify(having(data, {"captures/sw1.cfg": b""}, sums=False), PASSPHRASES)
    assert [line[:8] for line in altered.lines()] == ["ALTERED:", "Evidence"]


def test_a_workbook_that_unfolds_to_more_than_any_plan_is_not_unfolded():
    bomb = archive_of(("xl/workbook.xml", b"\0" * 70_000_000), method=zipfile.ZIP_DEFLATED)
    told = json.loads(unpack(small())[MANIFEST])
    named = {**told["plan"], "name": "plan.xlsx"}
    data = having(manifest_with(small(), plan=named), {"plan/plan.yaml": bomb}, entries=True)
    found = verify(data, PASSPHRASES)
    assert found.exit_code == 1
    assert any("larger than any plan" in text for text in wrong(found))


def test_evidence_is_never_larger_than_what_is_looked_into(monkeypatch: pytest.MonkeyPatch, tmp_path):
    monkeypatch.setattr(archive, "MAX_BYTES", 1000)
    with pytest.raises(ReportError, match="too much"):
        pack({"a": b"x" * 501})
    (tmp_path / "large.zip").write_bytes(b"PK" + b"x" * 1000)
    with pytest.raises(EvidenceError, match="larger than any evidence"):
        load(tmp_path / "large.zip")
    assert pack({"a": b"x" * 499})


def test_the_command_ends_with_0_1_or_2(tmp_path):
    file = tmp_path / "evidence.zip"
    said = {}
    for code, data in enumerate([small(), having(small(), {"captures/gw1.rsc": b"x"}), b"x"]):
        file.write_bytes(data)
        run = CliRunner().invoke(cli, ["verify", str(file)], env=PASSPHRASES, standalone_mode=False)
        if code == 2:
            assert isinstance(run.exception, EvidenceError)
            assert run.exception.exit_code == 2
            assert str(file) in str(run.exception)
        else:
            assert run.return_value == code
        said[code] = run.output
    assert said[0].startswith("VERIFIED: ")
    assert "captures/gw1.rsc was altered" in said[1]
    with pytest.raises(EvidenceError, match="cannot be read"):
        load(tmp_path / "none.zip")
