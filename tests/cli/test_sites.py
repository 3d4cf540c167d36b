"""Several sites at once: what goes wrong at one costs that one alone, and the worst code wins: 2, then 3, then 1."""

from __future__ import annotations

import json
import os
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from auditor.app.sites import site_name
from auditor.app.tally import Tally
from auditor.reports import FORMATS
from tests.cli.called import BAKERY, QUARRY, Caller, Two

FILES = {form.file for form in FORMATS} | {"evidence.zip"}
BOMB = "a: &a [x, x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"{name}: &{name} [{', '.join(['*' + before] * 10)}]\n" for before, name in zip("abcdef", "bcdefg", strict=True)
)
"""Aliases of aliases: ten million values in a few lines."""


def test_the_worst_code_wins():
    for codes, worst in (([0, 1], 1), ([1, 3, 0], 3), ([3, 2, 1], 2), ([0, 0], 0), ([2, 3], 2), ([], 0)):
        tally = Tally()
        for code in codes:
            tally.add(code)
        assert tally.code == worst


def unusable(folder: Path) -> dict[str, str]:
    """Write files that are no plan; return what is said of each."""
    shutil.copy(QUARRY / "conforming" / "gw1.rsc", folder / "router.yaml")
    shutil.copy(BAKERY / "conforming" / "sw1.cfg", folder / "switch.yaml")
    shutil.copy(QUARRY / "conforming" / "core1" / "show_running-config.txt", folder / "workbook.xlsx")
    (folder / "binary.yaml").write_bytes(bytes(range(256)) * 64)
    (folder / "huge.yaml").write_bytes(b"a" * (5 * 2**20))
    (folder / "deep.yaml").write_text("[" * 50_000)
    (folder / "deeper.yaml").write_text("a: " + "{b: " * 5_000)
    (folder / "bomb.yaml").write_text(BOMB)
    (folder / "loop.yaml").write_text("a: &a [*a]\n")
    (folder / "list.yaml").write_text("- format: 1\n- site: x\n")
    (folder / "word.yaml").write_text("plan\n")
    (folder / "empty.yaml").write_text("")
    (folder / "bare.yaml").write_text("format: 1\nsite: x\n")
    (folder / "none.yaml").write_text("format: 1\nsite: x\ndevices: {}\n")
    (folder / "folder.yaml").mkdir()
    return {
        "router.yaml": "expected a plan",
        "switch.yaml": "",
        "workbook.xlsx": "not a valid workbook",
        "binary.yaml": "UTF-8",
        "huge.yaml": "larger",
        "deep.yaml": "deep",
        "deeper.yaml": "deep",
        "bomb.yaml": "more than",
        "loop.yaml": "deep",
        "list.yaml": "expected a plan",
        "word.yaml": "expected a plan",
        "empty.yaml": "expected a plan",
        "bare.yaml": "no devices",
        "none.yaml": "no devices",
        "folder.yaml": "cannot be read",
        "missing.yaml": "cannot be read",
        "n" * 300: "cannot be read",
    }


@pytest.mark.slow
def test_plans_that_cannot_be_used_are_all_told_of_and_cost_no_other_site(call: Caller, two: Two):
    wrong = unusable(two.folder)
    (two.folder / "wrong.yaml").write_text("format: 1\nsite: x\nsubnets: {a: {vlan: 9999, prefix: 10.0.0.0/24}}\n")
    two.drift("gw1.rsc")
    plans = [two.clinic, *(two.folder / name for name in wrong), two.folder / "wrong.yaml", two.bakery]
    ended = call("audit", *plans, "--captures", two.captures, "--out", two.folder / "out", "--quiet")
    assert ended.code == 2
    for name, why in wrong.items():
        assert any(f"{name}:" in line and why in line for line in ended.err.splitlines()), (name, ended.err)
    assert f"{two.folder / 'wrong.yaml'}:3: subnets.a.vlan: expected a number of at most 4094" in ended.err
    assert "fault of auditor" not in ended.err
    assert {path.name for path in (two.folder / "out").iterdir()} == {"clinic", "bakery"}
    assert {path.name for path in (two.folder / "out" / "bakery").iterdir()} == FILES
    assert len(ended.out.splitlines()) == 1
    assert ended.out.startswith("Quarry Road Veterinary Clinic (QRC-01): not as planned: 1 outage, 1 for upkeep")


@pytest.mark.parametrize("command", ["audit", "capture", "expected"])
def test_a_plan_without_devices_is_refused(command: str, call: Caller, tmp_path: Path):
    """Nothing that is audited is not as planned, and that would be told as all being well."""
    (tmp_path / "empty").mkdir()
    options = ["--captures", tmp_path / "empty"] if command == "audit" else []
    for number, more in enumerate(("", "devices: {}\n", "devices:\n")):
        (tmp_path / "plan.yaml").write_text(f"format: 1\nsite: x\n{more}")
        ended = call(command, tmp_path / "plan.yaml", *options, "--out", tmp_path / str(number))
        assert (ended.code, ended.out, (tmp_path / str(number)).exists()) == (2, "", False)
        assert "devices" in ended.err


def test_an_earlier_name_of_a_setting_is_told_once_a_plan(call: Caller, two: Two):
    text = two.clinic.read_text()
    assert call("audit", two.clinic, "--captures", two.captures / "clinic", "--no-history", "--quiet").err == ""
    two.clinic.write_text(text.replace("0/7.untagged,", "0/7.untagged_vlan,"))
    line = 1 + text[: text.index("0/7.untagged,")].count("\n")
    ended = call("audit", two.clinic, "--captures", two.captures / "clinic", "--no-history", "--quiet")
    now = "ports.GigabitEthernet1/0/7.untagged_vlan is now ports.GigabitEthernet1/0/7.untagged: write the new name"
    assert ended.code == 0
    assert ended.err == f"auditor: {two.clinic}:{line}: deviations.0.setting: {now}\n"


def test_a_folder_of_captures_that_is_missing_costs_that_site_alone(call: Caller, two: Two):
    shutil.rmtree(two.captures / "clinic")
    ended = call("audit", two.clinic, two.bakery, "--captures", two.captures, "--out", two.folder / "out")
    assert ended.code == 2
    assert ended.err.startswith(f"auditor: {two.clinic}: {two.captures / 'clinic'}: no such folder of captures\n")
    assert [path.name for path in (two.folder / "out").iterdir()] == ["bakery"]
    (two.captures / "clinic").write_text("a file where a folder should be")
    assert call("audit", two.clinic, two.bakery, "--captures", two.captures, "--quiet").code == 2


def test_nothing_is_begun_where_no_site_is_left(call: Caller, two: Two):
    (two.folder / "clinic.yaml").write_text("format: 2\n")
    history = two.folder / "history" / "kept.sqlite"
    ended = call("audit", two.clinic, "--captures", two.captures, "--history", history, "--out", two.folder / "out")
    assert (ended.code, ended.out, history.parent.exists(), (two.folder / "out").exists()) == (2, "", False, False)
    ended = call("audit", two.bakery, "--captures", two.folder / ("n" * 300), "--history", history)
    assert (ended.code, ended.out, history.parent.exists()) == (2, "", False)
    assert f"auditor: {two.bakery}: " in ended.err


def test_a_folder_that_cannot_be_written_costs_that_site_alone(call: Caller, two: Two):
    out = two.folder / "out"
    out.mkdir()
    (out / "clinic").write_text("a file stands in the way")
    two.drift("gw1.rsc")
    ended = call("audit", two.clinic, two.bakery, "--captures", two.captures, "--out", out)
    assert ended.code == 2
    assert f"auditor: {two.clinic}: {out / 'clinic'}" in ended.err
    assert "cannot be written: a file stands in the way of its folder (and " in ended.err
    assert {path.name for path in (out / "bakery").iterdir()} == FILES
    assert "NONCONFORMING Not as planned: 1 outage, 1 for upkeep" in ended.out


def test_a_file_that_cannot_be_written_costs_itself_alone(call: Caller, two: Two):
    out = two.folder / "out"
    (out / "report.md").mkdir(parents=True)
    ended = call("audit", two.bakery, "--captures", two.captures / "bakery", "--out", out)
    assert ended.code == 2
    assert f"auditor: {two.bakery}: {out / 'report.md'}: cannot be written: Is a directory\n" in ended.err
    assert {path.name for path in out.iterdir() if path.is_file()} == FILES - {"report.md"}
    assert "CONFORMING" in ended.out


@pytest.mark.parametrize("full", ["report.json", "evidence.zip"])
def test_a_full_disk_costs_what_does_not_fit(full: str, call: Caller, two: Two, monkeypatch: pytest.MonkeyPatch):
    replace = os.replace

    def put(source: str, target: Path) -> None:
        if target.name == full and target.parent.name == "clinic":
            raise OSError(28, "No space left on device")
        replace(source, target)

    monkeypatch.setattr("os.replace", put)
    out = two.folder / "out"
    ended = call("audit", two.clinic, two.bakery, "--captures", two.captures, "--out", out, "--quiet")
    assert (ended.code, ended.out) == (2, "")
    assert ended.err == f"auditor: {two.clinic}: {out / 'clinic' / full}: cannot be written: No space left on device\n"
    assert {path.name for path in (out / "clinic").iterdir()} == FILES - {full}
    assert {path.name for path in (out / "bakery").iterdir()} == FILES


def test_a_history_that_cannot_be_written_costs_no_report(call: Caller, two: Two):
    two.drift("gw1.rsc")
    out = two.folder / "out"
    history = two.clinic / "history.sqlite"
    ended = call("audit", two.clinic, two.bakery, "--captures", two.captures, "--out", out, "--history", history)
    assert ended.code == 2
    assert f"auditor: {history}: no history can be kept there" in ended.err
    assert {path.name for path in out.iterdir()} == {"clinic", "bakery"}
    assert "NONCONFORMING" in ended.out


def test_review_goes_on_behind_a_plan_that_cannot_be_read(call: Caller, two: Two):
    (two.folder / "wrong.yaml").write_text("format: 2\nsite: x\n")
    ended = call("review", two.clinic, two.folder / "wrong.yaml", two.folder / "missing.yaml", two.bakery)
    assert ended.code == 2
    assert ended.out.splitlines() == [f"{plan}: the plan is sound" for plan in (two.clinic, two.bakery)]
    assert "wrong.yaml:1: format" in ended.err
    assert "missing.yaml: cannot be read" in ended.err
    warned = two.bakery.read_text().replace("security: wpa2-personal", "security: wpa-personal")
    two.bakery.write_text(warned)
    assert call("review", two.clinic, two.bakery).code == 1


TWINS: dict[str, Callable[[Two], tuple[Path, Path]]] = {
    "the same plan": lambda two: (two.clinic, two.clinic),
    "the same plan by another way": lambda two: (two.clinic, two.folder / "captures" / ".." / "clinic.yaml"),
    "one name in two folders": lambda two: (two.clinic, two.folder / "other" / "clinic.yaml"),
    "capitals": lambda two: (two.clinic, two.folder / "CLINIC.yaml"),
    "another ending": lambda two: (two.clinic, two.folder / "clinic.yml"),
    "letters composed in two ways": lambda two: (two.folder / "caf\u00e9.yaml", two.folder / "cafe\u0301.yaml"),
    "a folder's name and a file's": lambda two: (two.clinic, two.folder / "clinic" / "plan.yaml"),
    "folders of one name": lambda two: (two.folder / "a" / "x" / "plan.yaml", two.folder / "b" / "X" / "plan.yaml"),
}


@pytest.mark.parametrize("twins", TWINS)
def test_sites_that_would_share_a_folder_are_refused_before_anything_is_done(twins: str, call: Caller, two: Two):
    one, other = TWINS[twins](two)
    for path in (one, other):
        path.parent.mkdir(parents=True, exist_ok=True)
        if not path.exists():
            shutil.copy(two.bakery, path)
    out, history = two.folder / "out", two.folder / "history.sqlite"
    commands = [
        ("audit", one, other, two.bakery, "--captures", two.captures, "--history", history),
        ("audit", one, other, two.bakery, "--out", out, "--history", history),
        ("capture", one, other, two.bakery, "--out", out),
    ]
    for command in commands:
        ended = call(*command)
        assert (ended.code, ended.out, out.exists(), history.exists()) == (2, "", False, False)
        assert str(one) in ended.err
        assert str(other) in ended.err


@pytest.mark.parametrize(
    ("path", "name"),
    [
        ("sites/clinic.yaml", "clinic"),
        ("clinic.of.the.road.yaml", "clinic.of.the.road"),
        ("sites/clinic/plan.yaml", "clinic"),
        ("sites/clinic/PLAN.yaml", "clinic"),
        ("sites/clinic/plan.xlsx", "clinic"),
        ("sites/clinic/../bakery/plan.yaml", "bakery"),
        ("sites/planned.yaml", "planned"),
        ("/plan.yaml", "plan"),
        ("..yaml", "..yaml"),
        ("...yaml", "...yaml"),
    ],
)
def test_a_site_is_called_by_its_file_or_by_its_folder(path: str, name: str):
    assert site_name(Path(path)) == name


def test_a_plan_in_the_folder_where_one_stands_is_called_by_that_folder(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
):
    (tmp_path / "clinic").mkdir()
    monkeypatch.chdir(tmp_path / "clinic")
    assert site_name(Path("plan.yaml")) == "clinic"


def test_plans_called_plan_are_kept_apart_by_their_folders(call: Caller, two: Two):
    for name, plan in (("clinic", two.clinic), ("bakery", two.bakery)):
        (two.folder / name).mkdir()
        plan.rename(two.folder / name / "plan.yaml")
    plans = [two.folder / name / "plan.yaml" for name in ("clinic", "bakery")]
    ended = call("audit", *plans, "--captures", two.captures, "--out", two.folder / "out", "--quiet")
    assert (ended.code, ended.out, ended.err) == (0, "", "")
    for name in ("clinic", "bakery"):
        told = json.loads((two.folder / "out" / name / "report.json").read_text())
        assert (told["verdict"], told["plan"]["file"]) == ("conforming", "plan.yaml")


NOT_READ: list[tuple[str, list[str]]] = [
    ("a folder", ["read", "--platform", "cisco_ios", "{folder}"]),
    ("no file", ["read", "--platform", "cisco_ios", "{folder}/none.cfg"]),
    ("a file without end", ["read", "--platform", "cisco_ios", "/dev/zero"]),
    ("a name that is too long", ["read", "--platform", "cisco_ios", "{folder}/" + "n" * 300]),
    ("a folder as plan", ["expected", "{folder}", "--out", "{folder}/x"]),
    ("a plan without end", ["expected", "/dev/zero", "--out", "{folder}/x"]),
    ("a file as folder", ["expected", "{plan}", "--out", "{plan}"]),
    ("a device's text as plan", ["history", "{device}"]),
    ("a folder as plan of a history", ["history", "{folder}"]),
    ("a plan as history", ["history", "{plan}", "--history", "{plan}"]),
    ("a name of a history that is too long", ["history", "{plan}", "--history", "{folder}/" + "n" * 300]),
    ("a device as history", ["overview", "--out", "{folder}/x", "--history", "/dev/zero"]),
    ("a folder as evidence", ["verify", "{folder}"]),
    ("a plan as evidence", ["verify", "{plan}"]),
    ("no evidence", ["verify", "{folder}/none.zip"]),
    ("a pipe as plan", ["expect", "{pipe}", "--out", "{folder}/x"]),
    ("a pipe as plan that is a workbook", ["review", "{pipe}.xlsx"]),
    ("a pipe as evidence", ["verify", "{pipe}"]),
    ("a pipe as SSH configuration", ["capture", "{plan}", "--ssh-config", "{pipe}", "--out", "{folder}/x"]),
    ("a file as folder of the demo", ["demo", "--out", "{plan}"]),
]


@pytest.mark.parametrize(("what", "command"), NOT_READ, ids=[what for what, _ in NOT_READ])
def test_what_cannot_be_read_or_written_ends_with_2(what: str, command: list[str], call: Caller, two: Two):
    places = {
        "folder": two.folder,
        "plan": two.bakery,
        "device": two.captures / "clinic" / "gw1.rsc",
        "pipe": two.folder / "pipe",
    }
    for name in ("pipe", "pipe.xlsx"):
        os.mkfifo(two.folder / name)
    ended = call(*(part.format(**places) for part in command))
    assert (ended.code, "fault of auditor" in ended.err) == (2, False), what
    assert ended.err.startswith("auditor: ")
    assert not ended.out or what == "a file as folder of the demo"


def test_a_plan_that_is_a_pipe_costs_its_own_site_alone(call: Caller, two: Two):
    os.mkfifo(two.folder / "pipe.yaml")
    plans = [two.folder / "pipe.yaml", two.bakery]
    ended = call("audit", *plans, "--captures", two.captures, "--out", two.folder / "out", "--quiet")
    assert ended.code == 2
    assert "pipe.yaml: cannot be read: it is no regular file" in ended.err
    assert (two.folder / "out" / "bakery" / "report.json").is_file()


def test_a_page_of_all_sites_that_cannot_be_written_ends_with_2(call: Caller, two: Two):
    call("audit", two.bakery, "--captures", two.captures / "bakery", "--quiet")
    ended = call("overview", "--out", two.bakery)
    assert (ended.code, ended.out) == (2, "")
    assert "overview.html: cannot be written" in ended.err
    (two.folder / "page" / "overview.html").mkdir(parents=True)
    assert call("overview", "--out", two.folder / "page").code == 2
    assert (two.folder / "page" / "overview.json").is_file()


def test_what_is_no_configuration_is_read_as_none(call: Caller, tmp_path: Path):
    for number, data in enumerate((b"", b"\n\n", b"\0" * 1000, bytes(range(256)) * 9, b"\xff\xfe\x00", b"{" * 9999)):
        (tmp_path / f"{number}.cfg").write_bytes(data)
        for platform in ("cisco_ios", "mikrotik_routeros", "openwrt", "juniper_junos", "fortinet"):
            for form in ([], ["--json"]):
                ended = call("read", "--platform", platform, *form, tmp_path / f"{number}.cfg")
                assert (ended.code, ended.err) == (3, ""), (number, platform)


@pytest.mark.slow
@pytest.mark.parametrize("data", [b"", b"\n", b"\xef\xbb\xbf", b"\r\n\r\n"])
def test_an_empty_capture_is_not_readable_in_every_form(data: bytes, call: Caller, two: Two):
    for file in (two.captures / "bakery").iterdir():
        file.write_bytes(data)
    out = two.folder / "out"
    ended = call("audit", two.bakery, "--captures", two.captures / "bakery", "--out", out)
    told = json.loads((out / "report.json").read_text())
    assert ended.code == 3
    assert {device["outcome"] for device in told["devices"]} == {"not readable"}
    assert {device["reason"] for device in told["devices"]} == {"the capture is empty"}
    assert call("verify", out / "evidence.zip").code == 0
