"""Evidence that somebody has changed, and archives that are made to hurt: found, named, refused."""

from __future__ import annotations

import io
import json
import random
import stat
import zipfile
from collections.abc import Callable

import pytest
from click.testing import CliRunner

from auditor.cli import cli
from auditor.errors import EvidenceError, ReportError
from auditor.evidence import archive, verify
from auditor.evidence.archive import MAX_FILES, load, pack, unpack
from auditor.evidence.manifest import MANIFEST, SUMS
from tests.compare.site import PASSPHRASES
from tests.evidence.made import flipped, having, manifest_with, place_of, small

NAMES = sorted(unpack(small()))
REPORT = "reports/report.json"


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("part", [0.0, 0.5, 0.999])
def test_a_flipped_bit_in_a_file_is_found_and_the_file_named(name: str, part: float):
    at = place_of(small(), name) + int(part * len(unpack(small())[name]))
    found = verify(flipped(small(), at), PASSPHRASES)
    assert found.exit_code == 1
    assert any(name in text for text in found.wrong), found.wrong
    assert "DIFFERS" in found.lines()[1]


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


@pytest.mark.parametrize("name", [name for name in NAMES if name not in (MANIFEST, SUMS)])
@pytest.mark.parametrize("entries", [False, True])
def test_a_file_that_was_taken_away_is_missed(name: str, entries: bool):
    found = verify(having(small(), {name: None}, sums=entries), PASSPHRASES)
    assert found.exit_code == 1
    assert f"{name} is missing" in found.wrong


def test_manifest_and_sums_are_missed():
    assert f"{MANIFEST} is missing" in verify(having(small(), {MANIFEST: None}, sums=False), PASSPHRASES).wrong
    assert verify(having(small(), {SUMS: None}, sums=False), PASSPHRASES).wrong == [f"{SUMS} is missing"]


@pytest.mark.parametrize("name", ["captures/core2.cfg", "a.txt", "zz/zz", "reports/more.html"])
def test_a_file_that_was_added_is_named(name: str):
    assert f"{name} was added" in verify(having(small(), {name: b"x"}, sums=False), PASSPHRASES).wrong
    assert f"{name} was added" in verify(having(small(), {name: b"x"}), PASSPHRASES).wrong
    found = verify(having(small(), {name: b"x"}, entries=True), PASSPHRASES)
    assert found.exit_code == 1 if not name.startswith("reports/") else "more.html" in str(found.uncompared)


def test_a_file_whose_sum_was_put_right_in_one_list_alone_is_found():
    name = "captures/gw1.rsc"
    changed = {name: unpack(small())[name] + b"# more\n"}
    assert f"{name} was altered" in verify(having(small(), changed), PASSPHRASES).wrong
    assert f"{name} was altered" in verify(having(small(), changed, entries=True, sums=False), PASSPHRASES).wrong


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
    assert any(key in text for text in found.wrong), found.wrong
    assert "files are there" in found.proved[0]


@pytest.mark.parametrize(
    ("key", "value"),
    [("site", "x"), ("reference", "x"), ("occasion", "routine"), ("audited_on", "2026-11-26"), ("devices", [])],
)
def test_a_manifest_that_says_something_else_than_the_report_is_found(key: str, value: object):
    found = verify(manifest_with(small(), **{key: value}), PASSPHRASES)
    assert found.exit_code == 1
    assert any(key in text or "belongs to no device" in text for text in found.wrong)


def test_a_day_after_an_approval_gives_another_report():
    told = json.loads(unpack(small())[REPORT])
    later = {**told, "audited_on": "2100-01-01"}
    data = having(small(), {REPORT: json.dumps(later, indent=2).encode()}, entries=True)
    found = verify(manifest_with(data, audited_on="2100-01-01"), PASSPHRASES)
    assert any("expired is no, auditing again gives yes" in text for text in found.wrong)


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
    assert any(f"{REPORT} is no report" in told for told in found.wrong)


def test_a_plan_that_is_none_is_none():
    found = verify(having(small(), {"plan/plan.yaml": b"format: 1\nsite: [\n"}, entries=True), PASSPHRASES)
    assert any("plan/plan.yaml is no plan" in told for told in found.wrong)


def test_a_newer_format_is_refused_and_says_so():
    with pytest.raises(
        EvidenceError, match=r"auditor-evidence/2, and this version of auditor knows auditor-evidence/1"
    ):
        verify(manifest_with(small(), format="auditor-evidence/2"), PASSPHRASES)


def test_what_was_packed_anew_is_told_from_what_was_not():
    files = unpack(small())
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as other:
        for name in sorted(files, reverse=True):
            entry = zipfile.ZipInfo(name, (2026, 1, 1, 0, 0, 0))
            entry.external_attr = (stat.S_IFREG | 0o600) << 16
            other.writestr(entry, files[name])
    found = verify(made.getvalue(), PASSPHRASES)
    assert [text for text in found.wrong if "packed anew" in text]


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


HOSTILE: dict[str, tuple[Callable[[], bytes], str]] = {
    "nothing": (lambda: b"", "no archive"),
    "text": (lambda: b"PK is how it begins", "no whole archive"),
    "cut": (lambda: small()[:-1], "no whole archive"),
    "something behind it": (lambda: small() + b"x", "hangs on its end"),
    "half": (lambda: small()[: len(small()) // 2], "no whole archive"),
    "an empty archive": (archive_of, "no archive|no manifest"),
    "another archive": (lambda: archive_of(("a.txt", b"x")), f"it holds no {MANIFEST}"),
    "a way up": (lambda: archive_of(("../a", b"x")), "leads elsewhere"),
    "a way up inside": (lambda: archive_of(("captures/../../a", b"x")), "leads elsewhere"),
    "an absolute name": (lambda: archive_of(("/etc/passwd", b"x")), "leads elsewhere"),
    "a drive": (lambda: archive_of(("C:/a", b"x")), "none that evidence has"),
    "a backslash": (lambda: archive_of(("..\\a", b"x")), "none that evidence has"),
    "a control": (lambda: archive_of(("a\x1b[31m", b"x")), "none that evidence has"),
    "a letter of another script": (lambda: archive_of(("\u202ea", b"x")), "none that evidence has"),
    "a long name": (lambda: archive_of(("a" * 5000, b"x")), "none that evidence has"),
    "a name with an end in it": (lambda: archive_of(("abc", b"x")).replace(b"abc", b"a\0c"), "none that evidence has"),
    "one name twice": (lambda: archive_of((MANIFEST, b"x"), (MANIFEST, b"y")), "the same name"),
    "a link": (lambda: archive_of(("a", b"/etc/passwd"), mode=stat.S_IFLNK | 0o777), "no ordinary file"),
    "a folder": (lambda: archive_of(("a/", b"")), "leads elsewhere"),
    "a device": (lambda: archive_of(("a", b""), mode=stat.S_IFBLK | 0o644), "no ordinary file"),
    "a bomb": (lambda: archive_of(("a", b"\0" * 50_000_000), method=zipfile.ZIP_DEFLATED), "compressed"),
    "files on top of each other": (overlapping, "larger than itself"),
    "very many files": (lambda: archive_of(*((f"f{n}", b"") for n in range(MAX_FILES + 1))), "more files than"),
}  # fmt: skip


@pytest.mark.parametrize(("made", "said"), HOSTILE.values(), ids=list(HOSTILE))
def test_what_is_no_evidence_is_refused(made: Callable[[], bytes], said: str):
    with pytest.raises(EvidenceError, match=said) as caught:
        verify(made(), PASSPHRASES)
    assert str(caught.value).isprintable()


def test_a_workbook_that_unfolds_to_more_than_any_plan_is_refused():
    bomb = archive_of(("xl/workbook.xml", b"\0" * 70_000_000), method=zipfile.ZIP_DEFLATED)
    told = json.loads(unpack(small())[MANIFEST])
    named = {**told["plan"], "name": "plan.xlsx"}
    data = having(manifest_with(small(), plan=named), {"plan/plan.yaml": bomb}, entries=True)
    with pytest.raises(EvidenceError, match="unfolds to more"):
        verify(data, PASSPHRASES)


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
    assert "UNALTERED" in said[0]
    assert "captures/gw1.rsc was altered" in said[1]
    with pytest.raises(EvidenceError, match="cannot be read"):
        load(tmp_path / "none.zip")
