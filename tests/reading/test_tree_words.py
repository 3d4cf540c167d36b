"""Blocks between words (config, edit, next, end): quotes, values over several lines, blocks that do not fit."""

from __future__ import annotations

import pytest

from tests.reading.texts import kinds, not_understood, reading_of, state_of

END = "config router multicast\nend\n"
"""What a whole configuration ends with (from memory; so do all of the corpus that are whole)."""
PORT = 'config system interface\n    edit "port1"\n        set type physical\n'


def fortios(body: str):
    return reading_of("fortinet", f"config system global\n    set hostname fw\nend\n{body}\n{END}")


def described(line: str):
    reading = fortios(f"{PORT}        {line}\n        set status down\n    next\nend")
    assert not reading.problem
    assert not_understood(reading) == []
    port = state_of(reading)["ports"]["port1"]
    assert port["enabled"] is False
    return port["description"]


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("hall", "hall"),
        ('"hall"', "hall"),
        ('"the hall"', "the hall"),
        ('"the  hall"', "the  hall"),
        ('"say \\"hi\\""', 'say "hi"'),
        ('"back\\\\slash"', "back\\slash"),
        ('"ends in \\\\"', "ends in \\"),
        ("'the hall'", "the hall"),
        ('"it\'s"', "it's"),
        ('"# no comment"', "# no comment"),
        ('"edit x / set vlanid 3"', "edit x / set vlanid 3"),
        ('""', None),
        ("''", None),
        ('"Café — 中"', "Café — 中"),
        ('"one\nset status up\nnext\nend\nconfig system global\nset hostname bait\nend"', None),
    ],
)
def test_a_value_is_what_was_meant(value: str, text: str | None):
    if value.startswith('"one'):
        assert described(f"set description {value}").startswith("one")
    else:
        assert described(f"set description {value}") == text


BAIT = (
    'set comments "since then\nconfig system interface\n    edit \\"bait\\"\n        set vlanid 66\n    next\nend\nend"'
)


def test_a_value_over_several_lines_is_no_configuration():
    rule = f"    edit 1\n        {BAIT}\n        set nat enable\n    next\n"
    body = f"config firewall policy\n{rule}end\n{PORT}    next\nend"
    reading = fortios(body)
    assert reading.complete
    assert list(state_of(reading)["ports"]) == ["port1"]
    assert state_of(reading)["vlans"] == {}


def test_such_a_value_is_told_by_its_first_line():
    reading = fortios(f'{PORT}        set wrong "a\nset status down\nb"\n    next\nend')
    assert not_understood(reading) == ['set wrong "a']
    assert "unaudited" not in kinds(reading)[6:9]
    assert state_of(reading)["ports"]["port1"]["enabled"] is True


def test_a_key_over_several_lines_is_never_quoted():
    reading = fortios(f'{PORT}        set private-key "-----BEGIN\nnot a secret\n-----END"\n    next\nend')
    assert "not a secret" not in "\n".join(not_understood(reading))


@pytest.mark.parametrize(
    "following",
    [
        '        set description "hall"\n',
        '        set alias "x" "y"\n        set description "hall"\n',
        '        set comments "two\nlines"\n        set description "hall"\n',
    ],
)
def test_a_quote_that_is_never_closed_takes_no_more_than_its_line(following: str):
    reading = fortios(
        f'{PORT}        set alias "open\n{following}    next\n    edit "port2"\n        set status down\n    next\nend'
    )
    assert "line 7 has a quote that is never closed" in (reading.problem or "")
    assert state_of(reading)["ports"]["port1"]["description"] == "hall"
    assert state_of(reading)["ports"]["port2"]["enabled"] is False
    assert not reading.complete


def test_a_quote_that_is_never_closed_in_the_last_statement():
    reading = reading_of("fortinet", f'{PORT}        set private-key "-----BEGIN\nabc\ndef')
    assert "cut short" in (reading.problem or "")


@pytest.mark.parametrize("keep", range(2, 12))
def test_what_is_cut_within_a_block_is_cut_short(keep: int):
    inner = "        config secondaryip\n            edit 1\n                set ip 10.0.0.1 255.0.0.0\n"
    rest = "            next\n        end\n        set status down\n    next\nend"
    lines = f"{PORT}{inner}{rest}".split("\n")
    reading = reading_of("fortinet", "\n".join(lines[:keep]))
    assert ("cut short" in (reading.problem or "")) == (keep < len(lines))


def test_statements_behind_an_inner_block_belong_to_the_entry():
    body = (
        f"{PORT}        config ipv6\n            set ip6-mode dhcp\n        end\n        set status down\n    next\nend"
    )
    reading = fortios(body)
    assert reading.complete
    assert state_of(reading)["ports"]["port1"]["enabled"] is False


@pytest.mark.parametrize(
    ("body", "problem"),
    [
        ("set status down", "line 4 stands outside"),
        ("unset status", "line 4 stands outside"),
        ("next", "line 4 stands outside"),
        ("edit port9", "line 4 stands outside"),
        ("end", "line 4 closes a block that was never opened"),
        (f"{PORT}    next\n    set status down\nend", "line 8 stands outside"),
        (f"{PORT}    next\nend\nend", "line 9 closes a block that was never opened"),
        (f"{PORT}    edit port2\n    next\nend", "line 7 opens an entry where another was not closed"),
        (f"{PORT}        config ipv6\n    next\nend", "line 8 closes an entry in which a block was not closed"),
        (f"{PORT}    next\nconfig system dns\nend", "line 8 opens a block where another was not closed"),
        ("config system dns\n    set primary 192.0.2.1", "stops inside a block that begins in line 4"),
    ],
)  # fmt: skip
def test_blocks_that_do_not_fit_are_told(body: str, problem: str):
    reading = fortios(body)
    assert problem in (reading.problem or "")
    assert not reading.complete


def test_an_entry_that_is_not_closed_keeps_its_own_lines():
    reading = fortios(f"{PORT}        set status down\n    edit port2\n        set type physical\n    next\nend")
    ports = state_of(reading)["ports"]
    assert (ports["port1"]["enabled"], ports["port2"]["enabled"]) == (False, True)


def test_words_around_everything_are_left_out_and_keep_what_is_called_the_same_apart():
    ranges = "config ip-range\nedit 1\nset start-ip {1}.9\nset end-ip {1}.9\nnext\nend\n"
    server = f"config system dhcp server\nedit 1\nset netmask 255.255.255.0\nset interface {{0}}\n{ranges}next\nend\n"
    port = "edit {0}\nset ip {1}.1 255.255.255.0\nnext\n"
    sides = (("a", "10.0.1"), ("b", "10.0.2"))
    text = f"config global\nconfig system interface\n{''.join(port.format(*s) for s in sides)}end\nend\n"
    text += "".join(f"config vdom\nedit {s[0]}\n{server.format(*s)}{END}end\n" for s in sides)
    reading = reading_of("fortinet", text)
    assert not reading.problem
    assert not_understood(reading) == []
    found = {prefix: scope["pools"] for prefix, scope in state_of(reading)["dhcp"].items()}
    assert found == {"10.0.1.0/24": ["10.0.1.9-10.0.1.9"], "10.0.2.0/24": ["10.0.2.9-10.0.2.9"]}


@pytest.mark.parametrize("change", ["\r\n", "\n\n", " \n", "\n \t "])
def test_ends_of_lines_and_blanks_change_nothing(change: str):
    text = f'{PORT}        set description "the hall"\n        set ip 10.0.0.1 255.255.255.0\n    next\nend\n{END}'
    wanted = reading_of("fortinet", text)
    found = reading_of("fortinet", text.replace("\n", change))
    assert not found.problem
    assert found.state == wanted.state
    assert not_understood(found) == []


DOMAINS = "config vdom\nedit root\nnext\nedit yard\nnext\nend\n"
GLOBAL = "config global\nconfig system global\nset hostname two\nend\nend\n"
SERVER = "config system dhcp server\nedit 1\nset interface a\nnext\nend\n"
ROOT, YARD = (f"config vdom\nedit {name}\n{SERVER}{END}end\n" for name in ("root", "yard"))
SEVERAL, ONE = (f"#config-version=FGT60F-7.2.5-FW-build1-1:opmode=0:vdom={n}:user=reader\n" for n in (1, 0))


@pytest.mark.parametrize(
    ("text", "missing"),
    [
        (SEVERAL + DOMAINS + GLOBAL + ROOT + YARD, None),
        (DOMAINS + GLOBAL + ROOT, '"vdom yard"'),
        (GLOBAL, '"vdom"'),
        (ROOT + YARD, '"global"'),
        (SEVERAL + PORT + "        set type physical\n    next\nend\n" + END, '"global", "vdom"'),
        (ONE + PORT + "        set type physical\n    next\nend\n" + END, None),
    ],
)
def test_a_part_of_a_device_with_virtual_domains_is_no_whole_configuration(text: str, missing: str | None):
    problem = reading_of("fortinet", text).problem
    assert (f"nothing of {missing}:" in problem) if missing else problem == ""
