"""Templates run over lines: rows as TextFSM makes them, types at the border, and an account of every line."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from textfsm import TextFSM, TextFSMError  # type: ignore[import-untyped]

from auditor.platforms.definition import Platform
from auditor.reading.known import KnownLines, Told
from auditor.reading.row_models import FEATURES, converters
from auditor.reading.rows import Template, Typing
from auditor.reading.source import Disposition
from auditor.reading.words import Words
from tests.effort import amount

PLATFORM = Platform.model_validate(
    {
        "name": "invented",
        "about": "nothing real",
        "commands": {},
        "layout": "indented",
        "bridging": "access-and-trunk",
        "sections": [],
        "words": {"interface.mode": {"acc(ess)?": "access", "tr.*": "trunk"}},
    }
)
NOTHING_KNOWN = KnownLines([])
LISTING = """\
# Several rows from one body, a list in each.
Value NAME (\\S+)
Value DESCRIPTION (.+)
Value MODE (\\w+)
Value List ALLOWED_VLANS (\\S+)
Value DISABLED (off|on)

Start
  ^port -> Continue.Record
  ^port ${NAME}$$
  ^text ${DESCRIPTION}$$
  ^mode ${MODE}$$
  ^allow ${ALLOWED_VLANS}$$
  ^switched ${DISABLED}$$
  ^details$$ -> Details
  ^forget$$ -> Clear
  ^forget all$$ -> Clearall
  ^note$$ -> Next.Record Start
  ^. -> Error

Details
  ^back$$ -> Start
  ^deep ${DESCRIPTION}$$
  ^. -> Error
"""
LINES = [
    *("port a", "port b", "text one two", "mode access", "mode trunk", "allow 10", "allow 20-29", "switched off"),
    *("details", "deep down", "back", "forget", "forget all", "note"),
]


def template(text: str = LISTING, known: KnownLines = NOTHING_KNOWN, name: str = "interface.test") -> Template:
    return Template(name, text, Typing(name.partition(".")[0], Words(PLATFORM)), known)


def body(*lines: str) -> str:
    return "".join(f"{line}\n" for line in lines)


def rows(*lines: str) -> list[dict[str, Any]]:
    return [record.values for record in template().read(body(*lines)).records]


def test_rows_are_recorded_and_the_last_one_by_itself():
    found = rows("port a", "text one two", "allow 10", "allow 20", "port b", "switched on")
    assert found == [
        {"name": "a", "description": "one two", "allowed_vlans": ("10", "20")},
        {"name": "b", "disabled": True},
    ]


def test_a_trace_has_the_lines_of_each_value():
    found = template().read(body("port a", "allow 10", "text x", "allow 20", "text y")).records[0]
    assert found.trace == {"name": (0,), "allowed_vlans": (1, 3), "description": (4,)}
    assert found.values["description"] == "y"


def test_a_line_that_no_rule_wants_is_told_and_the_reading_goes_on():
    outcome = template().read(body("port a", "colour blue", "text x", "smell none"))
    assert list(outcome.kinds) == [
        Disposition.READ,
        Disposition.NOT_UNDERSTOOD,
        Disposition.READ,
        Disposition.NOT_UNDERSTOOD,
    ]
    assert [record.values for record in outcome.records] == [{"name": "a", "description": "x"}]


def test_a_line_in_a_closed_list_is_told_with_its_reason_only_if_no_rule_wants_it():
    harmless, limit = Told(Disposition.HARMLESS, "looks"), Told(Disposition.LIMIT, "strength")
    known = KnownLines([(["text.*", "colour.*"], harmless), (["strength (?P<KEY>\\d+)"], limit)])
    outcome = template(known=known).read(body("colour blue", "text x", "colour", "strength 12", "colourful"))
    assert list(outcome.kinds)[:4] == [Disposition.HARMLESS, Disposition.READ, Disposition.HARMLESS, Disposition.LIMIT]
    assert outcome.told == {0: harmless, 2: harmless, 3: replace(limit, key="12"), 4: harmless}


def test_what_is_indented_below_a_line_that_nobody_understood_is_not_read():
    nested = Template("interface.test", LISTING, Typing("interface", Words(PLATFORM)), NOTHING_KNOWN, nests=True)
    outcome = nested.read(body("port a", " smell none", "", "  text x", "text y"))
    assert list(outcome.kinds) == [
        Disposition.READ,
        Disposition.NOT_UNDERSTOOD,
        Disposition.BLANK,
        Disposition.NOT_UNDERSTOOD,
        Disposition.READ,
    ]
    assert [record.values for record in outcome.records] == [{"name": "a", "description": "y"}]


def test_a_value_of_the_wrong_type_makes_its_line_not_understood():
    outcome = template().read(body("port a", "mode frobnicate", "text x"))
    assert list(outcome.kinds) == [Disposition.READ, Disposition.NOT_UNDERSTOOD, Disposition.READ]
    assert outcome.records[0].values == {"name": "a", "description": "x"}


@pytest.mark.parametrize("text", [LISTING, LISTING + "\nEOF\n"])
def test_an_explicit_end_records_nothing_by_itself(text: str):
    found = template(text).read(body("port a", "port b")).records
    assert [record.values["name"] for record in found] == (["a"] if "EOF" in text else ["a", "b"])


def test_the_same_body_is_read_once_and_the_answer_is_the_same():
    ready = template()
    first = ready.read(body("port a"))
    assert ready.read(body("port a")) is first
    ready.forget()
    assert ready.read(body("port a")) == first


def test_no_lines_make_no_rows():
    assert template().read("").records == []
    assert list(template().read("").kinds) == []


def _as_textfsm_has_it(lines: list[str]) -> list[dict[str, Any]] | None:
    """Return the rows, empty ones left out; ``None`` where some line ended in Error."""
    reference = TextFSM(io.StringIO(LISTING))
    typing = Typing("interface", Words(PLATFORM))
    try:
        found = reference.ParseText("\n".join(lines))
    except TextFSMError:
        return None
    named = [{n.lower(): value for n, value in zip(reference.header, row, strict=True) if value} for row in found]
    return [{name: typing.value(name, value) for name, value in row.items()} for row in named if row]


@settings(max_examples=amount(quick=30, ci=150, long=500))
@given(st.lists(st.sampled_from(LINES), max_size=14))
def test_rows_are_those_of_textfsm(lines: list[str]):
    # the reference is TextFSM's own loop
    expected = _as_textfsm_has_it(lines)
    outcome = template().read(body(*lines))
    if expected is None:
        assert Disposition.NOT_UNDERSTOOD in outcome.kinds
    else:
        assert set(outcome.kinds) <= {Disposition.READ}
        assert [record.values for record in outcome.records if record.values] == expected


@pytest.mark.parametrize(
    ("feature", "field", "text", "value"),
    [
        ("interface", "disabled", "shutdown", True),
        ("interface", "disabled", "no shutdown", False),
        ("interface", "disabled", "no", False),
        ("interface", "disabled", "yes", True),
        ("interface", "disabled", "0", False),
        ("interface", "disabled", "1", True),
        ("wifi", "hidden", "yes", True),
        ("wifi", "hidden", "no", False),
        ("wifi", "hidden", "0", False),
        ("wifi", "broadcast", "guest-mode", True),
        ("interface", "addresses", ["10.0.0.1 255.255.255.0", "10.0.0.2/25", "10.0.0.3"], None),
        ("dhcp_scope", "lease", "1d12h", 129600),
        ("dhcp_scope", "lease", "00:10:00", 600),
        ("dhcp_scope", "lease", "infinite", 4294967295),
        ("dhcp_scope", "start", "100", 100),
        ("dhcp_reservation", "mac", "0000.5e00.5301", "00:00:5e:00:53:01"),
        ("dhcp_reservation", "mac", "00-00-5E-00-53-01", "00:00:5e:00:53:01"),
        ("dhcp_reservation", "address", "192.0.2.1", "192.0.2.1"),
        ("system", "ntp", ["192.0.2.1 192.0.2.2", "192.0.2.3,192.0.2.4"], tuple(f"192.0.2.{n}" for n in (1, 2, 3, 4))),
    ],
)
def test_text_becomes_a_type(feature: str, field: str, text: Any, value: Any):
    # RFC 2131: a lease of all ones never ends; MAC addresses as RFC 7042 writes them
    expected = ("10.0.0.1/24", "10.0.0.2/25", "10.0.0.3/32") if value is None else value
    assert converters(feature)[field](text) == expected


@pytest.mark.parametrize(
    ("feature", "field", "text"),
    [
        ("interface", "addresses", ["300.0.0.1 255.255.255.0"]),
        ("interface", "addresses", ["10.0.0.1 255.0.255.0"]),
        ("interface", "tagged_vlans", "10,4095"),
        ("vlan", "vlan_ids", "0"),
        ("dhcp_scope", "lease", "soon"),
        ("dhcp_scope", "start", "first"),
        ("dhcp_scope", "ranges", ["10.0.0.9-10.0.0.1"]),
        ("dhcp_reservation", "mac", "00:00:5e:00:53"),
        ("dhcp_reservation", "address", "10.0.0"),
        ("dhcp_option", "code", "router"),
    ],
)
def test_text_that_is_no_such_thing_is_refused(feature: str, field: str, text: Any):
    with pytest.raises(ValueError, match=r"\S"):
        converters(feature)[field](text)


@pytest.mark.parametrize("feature", FEATURES)
def test_every_field_of_a_feature_has_a_converter(feature: str):
    assert set(converters(feature)) == set(FEATURES[feature].types())


def test_a_line_is_known_by_the_first_entry_that_it_matches_whatever_word_it_begins_with():
    def told(why: str) -> Told:
        return Told(Disposition.HARMLESS, why)

    known = KnownLines(
        [
            (["(no )?(lldp|cdp)( .*)?", r"\S+ run"], told("neighbours")),
            (["LLDP timer .*", "no ip .*", "name|label"], told("others")),
        ]
    )
    found = {line: (known.of(line) or told("")).why for line in ("lldp", "no CDP run", "sflow run", "lldp timer 3")}
    assert found == {
        "lldp": "neighbours",
        "no CDP run": "neighbours",
        "sflow run": "neighbours",
        "lldp timer 3": "neighbours",
    }
    assert [known.of(line) is None for line in ("lldpx", "no name", "label", "no ip x", "ip x")] == [
        True,
        True,
        False,
        False,
        True,
    ]
