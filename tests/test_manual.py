"""The manual says what the program does: keys, words and tables are held against the code, and commands are run."""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args, get_origin

import click
import pytest
from click.testing import CliRunner
from pydantic import BaseModel
from rich.console import Console

from auditor import manual
from auditor.app.demo import PASSPHRASES
from auditor.areas.abilities import abilities_of
from auditor.cli import COMMANDS, cli
from auditor.core import changes, days, report, service, state
from auditor.plan import loader, schema, workbook
from auditor.platforms import catalogue
from auditor.platforms.gaps import told
from auditor.platforms.names import names_of
from auditor.reports.manual import show_page
from tests import documents
from tests.cli.called import BAKERY, QUARRY, Caller
from tests.compare.site import PASSPHRASES as BOTH

PAGES = {page.name: page for page in manual.pages()}


@pytest.fixture
def shown(capsys: pytest.CaptureFixture[str]) -> Caller:
    """What calls commands."""
    return Caller(capsys)


# The command


def test_every_page_is_known_and_says_what_it_is_about():
    assert sorted(path.stem for path in documents.MANUAL.glob("*.md")) == sorted(manual.NAMES)
    for page in PAGES.values():
        assert re.match(r"# \w.*\n\n.*\n\n", page.text), page.name
        assert page.about.endswith("."), page.name
        assert len(page.about) <= 115, page.name


def test_without_a_page_all_are_listed(shown: Caller):
    ended = shown("manual")
    assert ended.code == 0
    for page in PAGES.values():
        assert re.search(rf"^{page.name} +{re.escape(page.about)}$", ended.out, re.MULTILINE)


@pytest.mark.parametrize("name", manual.NAMES)
def test_a_page_is_shown_to_the_letter(name: str, shown: Caller):
    ended = shown("manual", name)
    assert (ended.code, ended.err) == (0, "")
    assert ended.out == PAGES[name].text


@pytest.mark.parametrize(("asked", "meant"), [("plna", "plan"), ("Platform", "platforms"), ("evidence.md", "evidence")])
def test_an_unknown_page_is_an_error_that_suggests_the_nearest(asked: str, meant: str, shown: Caller):
    ended = shown("manual", asked)
    assert (ended.code, ended.out) == (2, "")
    assert ended.err.startswith(f"auditor: the manual has no page {asked!r}: did you mean {meant}? Its pages: audit, ")


def test_a_page_that_is_like_none_is_an_error_that_lists_all(shown: Caller):
    assert shown("manual", "xyzzy").err == (
        f"auditor: the manual has no page 'xyzzy'. Its pages: {', '.join(manual.NAMES)}\n"
    )


def test_headings_are_bold_on_a_terminal_and_comments_of_shells_are_not():
    page = manual.Page("made", "Up.", "# Title\n\nUp.\n\n```sh\n# not this\n```\n")
    terminal = Console(force_terminal=True, color_system="standard", highlight=False, soft_wrap=True, no_color=False)
    with terminal.capture() as captured:
        show_page(page, terminal)
    assert captured.get() == "\x1b[1m# Title\x1b[0m\n\nUp.\n\n```sh\n# not this\n```\n"


def test_links_between_pages_lead_somewhere():
    for page in PAGES.values():
        for link in re.findall(r"\]\(([^)]+)\)", page.text):
            assert (documents.MANUAL / link).is_file(), f"{page.name}: {link}"


# The plan, key by key


def models_in(kind: Any) -> Iterator[tuple[str, type[BaseModel]]]:
    """Yield the models within a type, and what leads to them: ``.*`` within a mapping."""
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        yield "", kind
    for inner in get_args(kind):
        for more, model in models_in(inner):
            yield (".*" if get_origin(kind) is dict else "") + more, model


def keys_of_the_schema() -> dict[str, bool]:
    """Return the keys that a plan may have, and whether they must be there; a model is walked where it is met first."""
    found: dict[str, bool] = {}
    met: set[type[BaseModel]] = {schema.PlanFile}
    waiting: list[tuple[str, type[BaseModel]]] = [("", schema.PlanFile)]
    while waiting:
        path, model = waiting.pop(0)
        for name, info in model.model_fields.items():
            here = f"{path}.{name}".lstrip(".")
            found[here] = info.is_required()
            for more, inner in models_in(info.annotation):
                if inner not in met:
                    met.add(inner)
                    waiting.append((here + more, inner))
    return found


def sections(text: str) -> dict[str, str]:
    """Return what stands below each heading of the second level, by the heading."""
    _, *parts = re.split(r"^## ", text, flags=re.MULTILINE)
    return {title: body for title, _, body in (part.partition("\n") for part in parts)}


def keys_of_the_page() -> dict[str, bool]:
    """Return the keys that the page explains, and whether it says that they must be there."""
    found: dict[str, bool] = {}
    for title, body in sections(PAGES["plan"].text).items():
        named = re.match(r"`([\w.]+)`: ", title)
        above = re.sub(r"\b[A-Z]+\b", "*", named[1]) + "." if named else ""
        for key, required in re.findall(r"^- `([\w.]+)`( \(required\))?: ", body, re.MULTILINE):
            assert above + key not in found, key
            found[above + key] = bool(required)
    return found


def test_every_key_of_a_plan_is_explained_and_no_other():
    assert keys_of_the_page() == keys_of_the_schema()


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("security", schema.SECURITIES),
        ("bands", schema.BANDS),
        ("role", schema.ROLES),
        ("logins", schema.LOGINS),
    ],
)
def test_the_words_that_a_key_may_have_are_all_there(key: str, words: tuple[str, ...]):
    whole = rf"^- `{key}`(?: \(required\))?: (.*?)(?=\n- |\n\n|\Z)"
    (told,) = re.findall(whole, PAGES["plan"].text, re.MULTILINE | re.DOTALL)
    assert tuple(re.findall(r"`([\w.-]+)`", told.partition(" Left out")[0])) == words


def test_the_plan_shown_is_a_plan():
    (shown,) = documents.blocks(PAGES["plan"].text, "yaml")
    plan = loader.parse("plan.yaml", shown.encode())
    assert plan.data.subnets["cameras"].vlan == 60


def test_every_sheet_of_a_workbook_is_there():
    table = sections(PAGES["plan"].text)["As a spreadsheet"]
    named = [
        sheet for row in re.findall(r"^\| (`.*?) \|", table, re.MULTILINE) for sheet in re.findall(r"`(\w+)`", row)
    ]
    assert sorted(named) == sorted(("plan", "ports", "links", *workbook.ENTRIES, *workbook.LISTS))


def test_the_names_of_ports_are_those_of_each_platform():
    rows = re.findall(r"^\| `(\w+)` \| (.*?) \|(.*)\|$", PAGES["plan"].text, re.MULTILINE)
    rows = [row for row in rows if catalogue.folder_of(row[0])]
    assert [name for name, _, _ in rows] == list(catalogue.names())
    for platform, ports, bundles in rows:
        book = names_of(platform)
        for kind, cell in (("port", ports), ("bundle", bundles)):
            for text in re.findall(r"`([^`]+)`", cell):
                names = book.planned(text)
                assert {book.tell(name)[0] for name in names} == {kind}, (platform, text)
                is_range = re.search(r"\d-\w*/?\d+$", text) and text not in ("ge-0/0/0", "xe-0/1/0")
                assert (len(names) > 1) == bool(is_range), (platform, text)


# Platforms


def tables() -> list[str]:
    """Return the page's tables as the platforms' data have them."""
    saved = ["| platform | devices | save the output of |", "|---|---|---|"]
    shown = [f"| platform | {' | '.join(state.AREAS)} | tried on |", f"|---|{'---|' * len(state.AREAS)}--:|"]
    gaps = ["| platform | lacks or cannot be read | why |", "|---|---|---|"]
    signs = {"all": "yes", "part": "part", "none": "no"}
    for name in catalogue.names():
        one = abilities_of(name)
        platform = one.platform
        names = " ".join(f"`{each}`" for each in (name, *platform.also))
        commands = ", ".join(f"`{command}`" for command in platform.commands).replace("|", r"\|")
        areas = " | ".join(signs[one.of(area)] for area in state.AREAS)
        saved.append(f"| {names} | {platform.about} | {commands} |")
        shown.append(f"| `{name}` | {areas} | {platform.real_configurations} |")
        for word, found in (("lacks", platform.lacks), ("cannot read", platform.cannot)):
            gaps += [f"| `{name}` | {word} {what} | {why} |" for what, why in told(found)]
    return ["\n".join(saved), "\n".join(shown), "\n".join(gaps)]


def test_the_tables_of_platforms_are_their_data(update: bool):
    text = PAGES["platforms"].text
    found = re.findall(r"^\| platform .*(?:\n\|.*)+", text, re.MULTILINE)
    if update:
        for old, new in zip(found, tables(), strict=True):
            text = text.replace(old, new)
        (documents.MANUAL / "platforms.md").write_text(text, encoding="utf-8")
        pytest.skip("platforms.md written anew")
    assert found == tables()


# Words


@pytest.mark.parametrize(
    ("heading", "kind"),
    [
        ("Verdicts", report.Verdict),
        ("Outcomes of a device", report.Outcome),
        ("Kinds of findings *", report.Kind),
        ("Consequences *", report.Consequence),
        ("Why a setting is unverified *", report.Cause),
        ("Occasions of an audit", report.Occasion),
        ("What became of a finding *", changes.Course),
        ("Service paths *", service.PathState),
        ("Links *", service.LinkState),
        ("Days of captures *", days.DaySource),
    ],
)
def test_the_words_of_reports_are_in_the_glossary(heading: str, kind: Any):
    body = sections(PAGES["glossary"].text)[heading]
    assert tuple(re.findall(r"^- `(.+?)`: ", body, re.MULTILINE)) == get_args(kind)


def test_the_reasons_of_devices_are_in_the_glossary():
    body = sections(PAGES["glossary"].text)["Why a device is incomplete *"]
    beside, own = get_args(report.Incomplete.model_fields["cause"].annotation)
    assert beside == report.Cause
    assert tuple(re.findall(r"^- `(.+?)`: ", body, re.MULTILINE)) == get_args(own)


def test_the_causes_that_leave_an_audit_complete_are_the_first_two():
    assert set(get_args(report.Cause)[:2]) == report.COMPLETE_CAUSES


def test_the_keys_of_a_correction_are_those_of_the_report():
    table = sections(PAGES["corrections"].text)["What a correction holds"]
    assert re.findall(r"^\| `(\w+)` \|", table, re.MULTILINE) == list(report.Correction.model_fields)


def test_the_ages_of_captures_are_those_of_the_program():
    listed = re.findall(r"^\| `([\w-]+)` \| (\d+) days? \|", PAGES["audit"].text, re.MULTILINE)
    assert {occasion: int(number) for occasion, number in listed} == report.MAX_AGES


# Commands


def parsed(words: list[str]) -> click.Context:
    """Return what a command would be called with.

    Raises:
        click.ClickException: it has no such option or argument.
    """
    found = cli.get_command(click.Context(cli), words[0])
    assert found, words
    return found.make_context(words[0], words[1:])


def written() -> dict[str, list[str]]:
    """Return the commands that README and manual show, as words: those that are whole, without placeholders."""
    found = {}
    for text in documents.documents().values():
        for command in documents.commands(text):
            words = shlex.split(command)[1:]
            placeholders = any(re.fullmatch(r"\[?[A-Z]{3,}\]?", word) for word in words)
            bare = all(word.startswith("-") for word in words[1:]) and words[0] not in ("manual", "platforms")
            if not placeholders and not bare:
                found[command] = words
    return found


def is_live(words: list[str]) -> bool:
    """Return whether a command reads devices."""
    return words[0] == "capture" or (words[0] == "audit" and "--captures" not in words)


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder in which the commands can be run: a site that was audited, with its reports, and two more."""
    home = tmp_path_factory.mktemp("sites")
    runner = CliRunner(env=BOTH)
    for words in (["demo", "--out", home], ["audit", home / "plan.yaml", "--captures", home / "captures"]):
        history = ["--history", home / "history.sqlite"] if words[0] == "audit" else []
        assert not runner.invoke(cli, [str(word) for word in [*words, *history]]).exception
    shutil.copy(home / "report" / "evidence.zip", home / "demo.zip")
    for name, site in (("harbour", BAKERY), ("quarry", QUARRY)):
        shutil.copy(site / "plan.yaml", home / f"{name}.yaml")
        shutil.copytree(site / "conforming", home / "captures" / name, copy_function=shutil.copyfile)
    return home


@pytest.mark.parametrize("command", sorted(written()))
def test_a_command_that_is_written_works(command: str, folder: Path, shown: Caller, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.chdir(folder)
    monkeypatch.setenv("AUDITOR_HISTORY", str(folder / "history.sqlite"))
    words = written()[command]
    parsed(words)
    if is_live(words):
        return
    for name, value in BOTH.items():
        monkeypatch.setenv(name, value)
    ended = shown(*words)
    assert ended.code in (0, 1), ended.err
    assert ended.out or words[0] in ("expect", "overview")


def test_the_commands_of_the_job_are_among_them():
    assert {words[0] for words in written().values()} == set(COMMANDS) - {"demo"}


def test_every_option_that_is_written_is_one_of_ours():
    ours = {
        option for name in COMMANDS for param in parsed_params(name) for option in (*param.opts, *param.secondary_opts)
    }
    ours |= {option for param in cli.params for option in param.opts}
    foreign = {"--help", "--version"}
    for name, text in documents.documents().items():
        for span in documents.spans(text):
            if not span.startswith("pip"):
                assert set(re.findall(r"(?<![\w-])--[a-z][a-z-]+", span)) <= ours | foreign, f"{name}: {span}"


def parsed_params(name: str) -> list[click.Parameter]:
    command = cli.get_command(click.Context(cli), name)
    assert command
    return command.params


def test_schedules_call_commands_as_they_are():
    text = PAGES["history"].text
    (cron,) = (block for block in documents.blocks(text, "text") if block.startswith("0 6"))
    scripts = [cron.replace(r"\%", "%"), *re.findall(r"^Exec\w+=(.*)$", text, re.MULTILINE)]
    called = [
        shlex.split(words)
        for script in scripts
        for words in re.findall(r"auditor ((?:audit|overview) [^;>'\n]*)", script)
    ]
    assert [words[0] for words in called] == ["audit", "overview", "audit", "overview"]
    for words in called:
        parsed(words)


def test_every_command_has_a_help_page():
    for name in COMMANDS:
        ended = CliRunner().invoke(cli, [name, "--help"])
        assert ended.exit_code == 0
        assert "Usage:" in ended.output


# Outputs and files that are shown


def test_looking_into_evidence_prints_what_is_shown(
    update: bool, folder: Path, shown: Caller, monkeypatch: pytest.MonkeyPatch
):
    """The day of the demo is made one that never changes; how many files there are depends on the extra ``pdf``."""
    for name, value in PASSPHRASES.items():
        monkeypatch.setenv(name, value)
    ended = shown("verify", folder / "demo.zip")
    assert ended.code == 0
    printed = re.sub(r"\d+ files", "28 files", re.sub(r"\d{4}-\d\d-\d\d", "2026-11-25", ended.out))
    text = PAGES["evidence"].text
    (before,) = documents.blocks(text, "text")
    if update:
        (documents.MANUAL / "evidence.md").write_text(text.replace(before, printed), encoding="utf-8")
        pytest.skip("evidence.md written anew")
    assert before == printed


@pytest.mark.skipif(shutil.which("systemd-analyze") is None, reason="needs systemd")
def test_the_units_shown_are_units(tmp_path: Path):
    units = documents.blocks(PAGES["history"].text, "ini")
    for name, text in zip(("auditor.service", "auditor.timer"), units, strict=True):
        (tmp_path / name).write_text(text.replace("/opt/auditor/bin/auditor", "/bin/true"))
    command = [
        "systemd-analyze",
        "verify",
        "--man=no",
        str(tmp_path / "auditor.timer"),
        str(tmp_path / "auditor.service"),
    ]
    run = subprocess.run(command, capture_output=True, text=True, check=False)
    assert str(tmp_path) not in run.stderr
    assert run.returncode == 0, run.stderr


def test_the_service_fails_only_where_nothing_was_audited():
    (codes,) = re.findall(r"^SuccessExitStatus=(.*)$", PAGES["history"].text, re.MULTILINE)
    assert {int(code) for code in codes.split()} == {code for code in report.EXIT_CODES.values() if code}
