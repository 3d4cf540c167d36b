"""Rules about the data of platforms, and broken templates that prove that each rule bites."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from textfsm import TextFSM  # type: ignore[import-untyped]

from auditor.areas import read
from auditor.core.state import DeviceState
from auditor.errors import PlatformError
from auditor.platforms import catalogue
from auditor.platforms.definition import Platform, SectionRule
from auditor.platforms.render import render
from auditor.reading.dialect import Dialect, dialect
from auditor.reading.known import KnownLines
from auditor.reading.row_models import FEATURES
from auditor.reading.rows import Template, Typing
from auditor.reading.source import CaptureFile
from auditor.reading.words import FREE_TABLES, Words
from auditor.resources import templates_root
from tests.checks import each
from tests.conftest import FIXTURES, ROOT
from tests.effort import share
from tests.platforms.cases import parsed

BAD = sorted((FIXTURES / "bad" / "templates").glob("*.textfsm"))
PLATFORMS = catalogue.names()
PROBES = ("x", "0 more", " indented", "/path add", "!", "key=value", '"quoted"', "é — ü", "\t", "interface Vlan1", "-")
"""Lines that no template knows: a state that says nothing of one of these lets lines go."""
NATURAL_GROUPS = {"parent", "vlan_tag", "vid", "bridge_id", "counted", "whole", "made", "apart"}
"""What a rule about interface names may keep of a name."""


def faults(machine: Any) -> Iterator[str]:
    """Yield what is wrong with a parsed template though TextFSM takes it."""
    entered = {"Start", "EOF", "End"} | {r.new_state for rules in machine.states.values() for r in rules}
    used = {
        value for rules in machine.states.values() for rule in rules for value in re.findall(r"\{(\w+)\}", rule.match)
    }
    for value in machine.header:
        if value not in used:
            yield f"Value {value} is in no rule"
    for state, rules in machine.states.items():
        if state not in entered:
            yield f"state {state} is never entered"
        if state not in ("EOF", "End") and not (rules and (_ends_in_error(rules) or _reads_everything(rules))):
            yield f"{state} lets lines go"


def _ends_in_error(rules: list[Any]) -> bool:
    early = [rule for rule in rules[:-1] if rule.line_op == "Error"]
    return rules[-1].line_op == "Error" and not early and all(re.match(rules[-1].regex, probe) for probe in PROBES)


def _reads_everything(rules: list[Any]) -> bool:
    """Whether a state takes every line on purpose, and keeps nothing of it."""
    last = rules[-1]
    keeps = any("{" in rule.match for rule in rules)
    return not keeps and last.line_op == "" and all(re.match(f"(?:{last.regex})\\Z", probe) for probe in PROBES)


@pytest.mark.parametrize("name", PLATFORMS)
def test_a_platform_loads(name: str):
    ready = dialect(name)
    assert ready.platform.name == name
    assert {template.name for template in ready.templates} == set(templates_of(name))


def templates_of(platform: str) -> list[str]:
    return sorted({rule.template for rule in catalogue.get(platform).every_section})


@pytest.mark.parametrize("platform", PLATFORMS)
def test_its_templates_keep_the_rules(platform: str):
    each(templates_of(platform), lambda template: keeps_the_rules(platform, template))


def keeps_the_rules(platform: str, template: str) -> None:
    machine = parsed(platform, template)
    assert list(faults(machine)) == []
    assert [v for v in machine.header if v.lower() not in FEATURES[template.partition(".")[0]].types()] == []


@pytest.mark.parametrize("name", PLATFORMS)
def test_every_file_of_a_platform_is_used(name: str):
    folder = Path(str(templates_root())) / "platforms" / name
    rendered = {p.name: p.read_text(encoding="utf-8") for p in folder.glob("*.j2")}
    included = {other for other in rendered for text in rendered.values() if re.search(rf"[\"']{other}[\"']", text)}
    used = {f"{template}.textfsm" for template in templates_of(name)}
    own = {path.name for path in folder.iterdir()}
    used |= {"platform.yaml", "expected.cfg.j2"} | included | ({"corrections.yaml"} & own)
    assert own == used or (catalogue.get(name).like and own < used)


def test_no_module_names_a_platform():
    names = re.compile("|".join(rf"\b{name}\b" for name in PLATFORMS))
    found = {
        f"{path.relative_to(ROOT)}:{number}"
        for path in (ROOT / "auditor").rglob("*.py")
        for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1)
        if names.search(line)
    }
    assert found == set()


def _listed(part: Platform | SectionRule) -> Iterator[str]:
    blocks = part.blocks if isinstance(part, SectionRule) else {}
    yield from (p for lists in (part.harmless, part.limits, blocks) for patterns in lists.values() for p in patterns)
    yield from (pattern for overriding in part.overriding for pattern in overriding.lines)


def _patterns(platform: Platform) -> Iterator[str]:
    for section in platform.every_section:
        yield from (*section.opens, section.flat)
        yield from _listed(section)
    yield from _listed(platform)
    yield from (pattern for patterns in platform.outside.values() for pattern in patterns)
    yield from (pattern for patterns in platform.lines.values() for pattern in patterns)
    for rule in platform.secrets:
        yield from [rule] if isinstance(rule, str) else (rule.opens, rule.ends, *rule.secrets)
    yield from (pattern for table in platform.words.values() for pattern in table)
    yield from (p for command in platform.commands.values() for opens in command.shows.values() for p in opens)
    yield from platform.interfaces.kinds
    yield from (default.when for each in platform.defaults.values() for default in each if default.when)
    yield from platform.layout.literals


@pytest.mark.parametrize("name", PLATFORMS)
def test_every_pattern_of_a_platform_compiles_and_none_is_empty(name: str):
    for pattern in _patterns(catalogue.get(name)):
        assert re.compile(pattern) is not None, pattern


@pytest.mark.parametrize("name", PLATFORMS)
def test_a_secret_has_what_comes_before_it_and_itself(name: str):
    platform = catalogue.get(name)
    every = [p for rule in platform.secrets for p in ([rule] if isinstance(rule, str) else rule.secrets)]
    assert [pattern for pattern in every if re.compile(pattern).groups < 2] == []


@pytest.mark.parametrize("name", PLATFORMS)
def test_groups_and_fields_of_a_platform_are_known_to_the_row_models(name: str):
    platform = catalogue.get(name)
    unknown: list[str] = []
    for rule in platform.every_section:
        fields = FEATURES[rule.feature].types()
        groups = {group for pattern in rule.opens for group in re.compile(pattern).groupindex}
        unknown += [f"{rule.template}: {g}" for g in groups if g != g.upper() or g.lower() not in fields]
        unknown += [f"{rule.template}: {value}" for value in rule.values if value not in fields]
    for feature, default in ((feature, default) for feature, found in platform.defaults.items() for default in found):
        fields = FEATURES[feature].types()
        unknown += [f"default {field}" for field in {*default.values, *default.where} if field not in fields]
    for name, kind in platform.interfaces.kinds.items():
        unknown += [f"{kind}: {g}" for g in re.compile(name).groupindex if g not in NATURAL_GROUPS]
    for table in platform.words:
        feature, _, field = table.partition(".")
        known = field in FEATURES[feature].types() if field else table in FREE_TABLES
        unknown += [] if known else [f"words {table}"]
    assert unknown == []


def _expectation(path: Path, kind: str) -> str:
    found = re.match(rf"# {kind}: (.+)", path.read_text(encoding="utf-8"))
    return found[1] if found else ""


def _bad(kind: str) -> list[Any]:
    return [pytest.param(path, id=path.stem) for path in BAD if _expectation(path, kind)]


@pytest.mark.parametrize("path", _bad("error"))
def test_a_broken_template_is_refused(path: Path):
    name = path.name.removesuffix(".textfsm")
    feature = name.partition(".")[0]
    typing = Typing(feature if feature in FEATURES else "system", Words(_platform()))
    with pytest.raises(PlatformError, match=re.escape(_expectation(path, "error"))) as caught:
        Template(name, path.read_text(encoding="utf-8"), typing, KnownLines([]))
    assert name in str(caught.value)


@pytest.mark.parametrize("path", _bad("check"))
def test_a_careless_template_is_found_by_the_rules_above(path: Path):
    machine = TextFSM(io.StringIO(path.read_text(encoding="utf-8")))
    assert list(faults(machine)) == [_expectation(path, "check")]


def test_every_bad_template_says_what_is_wrong_with_it():
    assert len(BAD) == len(_bad("error")) + len(_bad("check"))
    assert _bad("error")
    assert _bad("check")


def _platform(**changes: Any) -> Platform:
    data: dict[str, Any] = {
        "name": "invented",
        "about": "nothing real",
        "commands": {},
        "layout": "indented",
        "bridging": "access-and-trunk",
        "sections": [],
    }
    return Platform.model_validate({**data, **changes})


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"colour": "blue"}, "colour"),
        ({"layout": {"kind": "columns"}}, "layout.kind"),
        ({"commands": {"show": {"layout": {"kind": "columns"}}}}, "layout.kind"),
        ({"sections": [{"opens": "x"}]}, "template"),
        ({"sections": [{"opens": "x", "template": "system", "open": "y"}]}, "open"),
        ({"sections": [{"opens": "x", "template": "system", "values": {"snmp": 1}}]}, "snmp"),
        ({"words": {"passphrase": {"9": "secret"}}}, "secret is no form"),
        ({"lines": {"jokes": "x"}}, "jokes"),
        ({"vlans": {"built_in": "1,5000"}}, "5000"),
        ({"dhcp": {"pools": "some"}}, "{'pools': 'some'} is no model of leasing: ranges"),
        ({"dhcp": "own"}, "'own' is no model of leasing: ranges"),
        ({"bridging": "trunk"}, "'trunk' is no model of bridging: access-and-trunk"),
        ({"lacks": {"vlan.name": "x"}}, "'vlan' is no area"),
        ({"lacks": {"vlans.names": "x"}}, "'names' is no setting of vlans"),
        ({"cannot": {"vlans.1.names": "x"}}, "'names' is no setting of vlans"),
        ({"lacks": {"vlans.name": {"only": ["x"]}}}, "why"),
        ({"commands": {"show": {"shows": {"ports.hidden": "x"}}}}, "'hidden' is no setting of ports"),
    ],
)
def test_a_platform_with_a_wrong_key_or_value_is_refused(changes: dict[str, Any], said: str):
    with pytest.raises(ValueError, match=said):
        _platform(**changes)


@pytest.mark.parametrize(
    ("rule", "said"),
    [
        ({"opens": "(interface", "template": "system.x"}, "no pattern"),
        ({"opens": "x", "template": "system.x", "values": {"colour": "blue"}}, "colour"),
        ({"opens": "x", "template": "system.x", "values": {"colour": "{hostname}"}}, "colour is no field of system"),
        ({"opens": "x (?P<COLOUR>.*)", "template": "system.x"}, "COLOUR is no field of system"),
        ({"opens": "x", "template": "colours.x"}, "no feature is called colours"),
    ],
)
def test_a_section_rule_that_cannot_work_is_refused(rule: dict[str, Any], said: str, monkeypatch: pytest.MonkeyPatch):
    text = "Value HOSTNAME (\\S+)\n\nStart\n  ^hostname ${HOSTNAME}$$\n  ^. -> Error\n"
    monkeypatch.setattr("auditor.reading.dialect.catalogue.template_text", lambda *_: text)
    monkeypatch.setattr("auditor.reading.dialect.names_of", lambda _: None)
    with pytest.raises(PlatformError, match=said):
        Dialect(_platform(sections=[rule]))


def test_a_table_of_words_for_no_field_is_refused(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("auditor.reading.dialect.names_of", lambda _: None)
    with pytest.raises(PlatformError, match=r"invented/platform\.yaml: words: interface\.colour"):
        Dialect(_platform(words={"interface.colour": {"x": "y"}}))


@pytest.mark.parametrize("name", PLATFORMS)
def test_a_template_that_is_not_there_is_named(name: str):
    with pytest.raises(PlatformError, match=rf"{name}: there is no file colours\.textfsm"):
        catalogue.template_text(name, "colours.textfsm")


def test_a_platform_that_is_not_there_is_named_with_the_nearest_that_is():
    for name in share(PLATFORMS, quick=4):
        with pytest.raises(PlatformError, match=f"did you mean {name}"):
            catalogue.get(name[:-1])


def test_another_name_of_a_platform_stands_for_it():
    names = [(other, name) for name in PLATFORMS for other in catalogue.get(name).also]
    each(names, lambda pair: stands_for(*pair))


def stands_for(other: str, name: str) -> None:
    assert other not in PLATFORMS
    assert catalogue.get(other) == catalogue.get(name)
    state = DeviceState(hostname="sw1")
    assert render(other, state, "access") == render(name, state, "access")
    assert read(other, [CaptureFile("sw1.cfg", render(other, state, "access").encode())]).state.hostname == "sw1"


def test_a_platform_that_is_like_another_takes_over_what_it_does_not_say():
    each([name for name in PLATFORMS if catalogue.get(name).like], takes_over)


def takes_over(name: str) -> None:
    platform = catalogue.get(name)
    other = catalogue.get(platform.like)
    assert not other.like
    assert platform.layout == other.layout
    assert (platform.name, platform.about) != (other.name, other.about)
