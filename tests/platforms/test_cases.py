"""Every case of every platform: a capture as a device prints it, and what there is to be read in it."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest

from auditor.core.state import Setting
from auditor.platforms import catalogue
from auditor.reading.dialect import dialect
from auditor.reading.layouts import PREPARATIONS
from auditor.reading.sections import Owner, Section
from auditor.reading.source import lines_of
from tests.checks import each
from tests.conftest import from_yaml
from tests.platforms.cases import EXPECTED, case_id, cases, dump, observed, parsed, reading_of, sources


@pytest.mark.parametrize("folder", cases(), ids=case_id)
def test_a_case_is_read_as_expected(folder: Path, update: bool):
    found = observed(folder)
    if update:
        (folder / EXPECTED).write_text(dump(found), encoding="utf-8")
    expected = from_yaml((folder / EXPECTED).read_text(encoding="utf-8"))
    assert found == expected


@pytest.mark.parametrize("platform", catalogue.names())
def test_evidence_of_a_case_points_at_its_lines(platform: str):
    each(cases(platform), evidence_of_a_case_points_at_its_lines, case_id)


def evidence_of_a_case_points_at_its_lines(folder: Path) -> None:
    reading = reading_of(folder)
    counts = {lines.name: len(lines.texts) for lines in reading.lines}
    for area, items in reading.state.as_json().items():
        if area in ("hostname", "management"):
            continue
        for key in items:
            for line in reading.evidence_of(Setting(area, key)):
                assert 1 <= line.line <= counts[line.file], (area, key)


@pytest.mark.parametrize("platform", catalogue.names())
def test_no_passphrase_of_a_case_is_shown(platform: str):
    each(cases(platform), no_passphrase_of_a_case_is_shown, case_id)


def no_passphrase_of_a_case_is_shown(folder: Path) -> None:
    reading = reading_of(folder)
    secrets = {found.text for each in reading.passphrases.values() for found in each if len(found.text) > 5}
    shown = dump(observed(folder)) + "\n".join(line.text for line in reading.quoted_not_understood())
    shown += "\n".join(
        line.text
        for ssid in reading.state.ssids
        for field in ("", "security", "vlan", "enabled")
        for line in reading.evidence_of(Setting("ssids", ssid, field))
    )
    assert [secret for secret in secrets if secret in shown] == []


@pytest.mark.parametrize("platform", catalogue.names())
def test_a_platform_has_cases(platform: str):
    assert len(cases(platform)) >= 2
    assert [folder.name for folder in cases(platform) if not (folder / EXPECTED).is_file()] == []


@pytest.mark.parametrize("platform", catalogue.names())
def test_every_section_rule_is_met_in_a_case(platform: str):
    met = {id(owner.rule) for owner, _ in _owned(platform)}
    rules = catalogue.get(platform).every_section
    assert [rule.opens for rule in rules if id(rule) not in met] == []


@pytest.mark.parametrize("platform", catalogue.names())
def test_every_alternative_of_a_section_rule_is_met_in_a_case(platform: str):
    met = {
        (id(owner.rule), pattern)
        for owner, section in _owned(platform)
        for pattern in owner.rule.opens
        if re.fullmatch(pattern, section.header, re.IGNORECASE)
    }
    rules = catalogue.get(platform).every_section
    assert [p for rule in rules for p in rule.opens if (id(rule), p) not in met] == []


@pytest.mark.parametrize("platform", catalogue.names())
def test_every_value_of_every_template_is_filled_by_a_case(platform: str):
    filled: set[tuple[str, str]] = set()
    for owner, section in _owned(platform):
        filled.update((owner.template.name, value.upper()) for value in _filled(owner, section))
    templates = {owner.template.name: owner.template for owner, _ in _owned(platform)}
    missing = [(name, v) for name, t in templates.items() for v in t.value_names if (name, v) not in filled]
    assert missing == []


@pytest.mark.parametrize("platform", catalogue.names())
def test_every_rule_of_every_template_is_used_by_a_case(platform: str):
    seen: dict[str, set[str]] = {}
    for owner, section in _owned(platform):
        seen.setdefault(owner.template.name, set()).update(_lines(platform, owner, section))
    unused = [
        f"{name}: {rule}"
        for name, lines in seen.items()
        for rules in parsed(platform, name).states.values()
        for rule in rules
        if rule.line_op != "Error" and not any(re.match(rule.regex, line) for line in lines)
    ]
    assert unused == []


def _body(owner: Owner, section: Section) -> str:
    return f"{section.header}\n{section.body}" if owner.rule.whole else section.body


def _filled(owner: Owner, section: Section) -> set[str]:
    records = owner.template.read(_body(owner, section)).records
    return {name for record in records for name in record.values} | set(section.head)


@cache
def _owned(platform: str) -> list[tuple[Owner, Section]]:
    """Return every section of a platform's cases that some template owns."""
    ready = dialect(platform)
    return [
        (section.owner, section)
        for folder in cases(platform)
        for source in sources(folder)
        for outer in ready.answers.cut(lines_of(source))
        for section in _with_inner(outer)
        if section.owner
    ]


def _with_inner(section: Section) -> list[Section]:
    """Return a section and those within it, however deep."""
    return [section, *(inner for each in section.unfolded()[0] for inner in _with_inner(each))]


def _lines(platform: str, owner: Owner, section: Section) -> set[str]:
    """Return the lines of a section as its template reads them."""
    data = catalogue.get(platform)
    own = (command for command in data.commands.values() if owner.rule in command.sections)
    answered = next(map(data.as_answered, own), data)
    prepare = PREPARATIONS[answered.layout.kind](answered, owner.rule)
    return {prepare(line)[0] for line in _body(owner, section).splitlines()}
