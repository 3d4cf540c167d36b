"""Blocks in braces and whole paths behind ``set``: the same statements, whatever the form, and each line accounted for.

How VyOS and Junos write them: their users' guides, from memory.
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from auditor.areas import read
from auditor.platforms.definition import Platform
from auditor.reading.fields import HELD_BLANK
from auditor.reading.layouts.tree import cut
from auditor.reading.layouts.tree_text import Braces
from auditor.reading.sections import Rules
from auditor.reading.source import CaptureFile, Disposition, Lines, lines_of

PLATFORM = Platform.model_validate(
    {
        "name": "invented",
        "about": "nothing real",
        "commands": {},
        "layout": {"kind": "braces", "outer": [r"groups \S+ "]},
        "bridging": "access-and-trunk",
        "lines": {"comment": ["#", "//"], "noise": r"\[edit", "script": ["#!", "commit$"]},
        "harmless": {"how it is cooled": ["ports fan .*"]},
        "outside": {"of the time alone": ["clocks .*"]},
        "sections": [
            {"opens": r"ports (?P<NAME>p\d)", "template": "interface"},
            {"opens": r"ports (?P<PARENT>\S+) unit (?P<VLAN_TAG>\d+)", "template": "interface"},
        ],
    }
)


def lines(text: str) -> Lines:
    return lines_of(CaptureFile("running.cfg", text.encode()))


def statements(text: str) -> list[str]:
    """Return the statements of a text that must be whole."""
    parser = Braces(lines(text), PLATFORM)
    parser.run()
    assert parser.lines.problem == ""
    return [" ".join(statement.words).replace(HELD_BLANK, "_") for statement in parser.statements]


def sections(text: str) -> tuple[dict[str, list[str]], list[Disposition]]:
    """Return the lines of each section by its first line, and what became of the lines of the text."""
    source = lines(text)
    owner: Any = lambda rule: SimpleNamespace(rule=rule, nested=[])  # noqa: E731 - nobody reads here
    found = cut(source, PLATFORM, Rules(PLATFORM, owner))
    return {s.header: s.body.splitlines() for s in found}, [Disposition(kind) for kind in source.kinds]


WRITTEN = [
    "ports p1 {\n    unit 10 {\n        address 10.0.0.1/24\n    }\n}\n",
    "set ports p1 unit 10 address 10.0.0.1/24\n",
    "set ports p1 unit 10 address '10.0.0.1/24'\n",
    'set ports p1 unit 10 address "10.0.0.1/24"',
    "ports p1 { unit 10 { address 10.0.0.1/24 } }",
    "ports { p1 { unit 10 { address 10.0.0.1/24; } } }",
    "ports {\r\n\tp1   {\r\n\t\tunit 10 {\r\n\t\t\taddress\t10.0.0.1/24;   \r\n\t\t}\r\n\t}\r\n}\r\n",
    "/* ports p9 {\n unit 9 {\n */\nports p1 {\n// ports p8 {\nunit 10 {\n# }\naddress 10.0.0.1/24; ## SECRET\n}\n}\n",
    "ports p1 { /* the first\n of { many */\nunit 10 {\naddress 10.0.0.1/24\n} }",
    "[edit]\nports p1 {\n[edit ports]\nunit 10 {\n\n\naddress 10.0.0.1/24\n}\n}\n",
]


@pytest.mark.parametrize("text", WRITTEN)
def test_all_forms_are_one_statement(text: str):
    assert statements(text) == ["ports p1 unit 10 address 10.0.0.1/24"]


@pytest.mark.parametrize("text", WRITTEN)
def test_all_forms_end_in_the_same_section(text: str):
    found, kinds = sections(text)
    assert found == {"ports p1 unit 10": ["address 10.0.0.1/24"]}
    assert Disposition.UNSEEN not in kinds


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("ports p1 { }", ["ports p1"]),
        ("ports     p1 {\n}\nports p2 { }\n", ["ports p1", "ports p2"]),
        ("ports p1 {\n fast { }\n slow { }\n}", ["ports p1 fast", "ports p1 slow"]),
        ("set ports p1", ["ports p1"]),
        ("start 10.0.0.5 {\n stop 10.0.0.9\n}", ["start 10.0.0.5 stop 10.0.0.9"]),
        ("members [ staff 20 guest ];", ["members staff", "members 20", "members guest"]),
        ("set p1 members [ staff 20 ]", ["p1 members staff", "p1 members 20"]),
        ("low 10.0.0.5 high 10.0.0.9; name x;", ["low 10.0.0.5 high 10.0.0.9", "name x"]),
        ('text "two words";', ["text two_words"]),
        ("text 'two words'", ["text two_words"]),
        ('text "say \\"so\\" and \\\\"', ['text say_"so"_and_\\']),
        ("set text 'carrier'\\''s box'", ["text carrier's_box"]),
        ('text ""', ['text ""']),
        ('text "interfaces { ethernet eth9 { disable } }"', ["text interfaces_{_ethernet_eth9_{_disable_}_}"]),
        ('text "}"', ["text }"]),
        ('a { text "{"\n}', ["a text {"]),
        ('text "["; more "]"; end ";";', ["text [", "more ]", "end ;"]),
        ('members [ "[" staff "]" ]', ["members [", "members staff", "members ]"]),
        ("set text ';'", ["text ;"]),
        ("text a#b", ["text a#b"]),
        ("key /config/*", ["key /config/*"]),
    ],
)
def test_words(text: str, found: list[str]):
    assert statements(text) == found


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("ports p1 {\n mtu 9;\n inactive: speed 1;\n}", {"ports p1": ["mtu 9"]}),
        ("ports p1 { mtu 9; }\ninactive: ports p2 {\n mtu 8;\n}", {"ports p1": ["mtu 9"]}),
        ("set ports p1 mtu 9\nset ports p2 mtu 8\ndeactivate ports p2", {"ports p1": ["mtu 9"]}),
        ("set ports p1 mtu 9\nset ports p1 speed 1\ndeactivate ports p1 speed", {"ports p1": ["mtu 9"]}),
        ("set groups top ports p1 mtu 9\nset ports p1 speed 1", {"ports p1": ["speed 1"]}),
    ],
)
def test_what_is_switched_off_is_as_if_it_were_not_there(text: str, found: dict[str, list[str]]):
    read_, kinds = sections(text)
    assert {header: body for header, body in read_.items() if body} == found
    assert {Disposition.UNSEEN, Disposition.NOT_UNDERSTOOD}.isdisjoint(kinds)


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("ports p1 {\n mtu 9\n", "it stops inside a block that begins in line 1"),
        ("ports p1 {\n unit 10 {\n address x\n", "it stops inside a block that begins in line 2"),
        ("ports p1 {\n}\n}\nports p2 {\n}\n", "line 3 closes a block that was never opened"),
        ("set ports p1 mtu 9\n/* and then\n", "it stops inside a block"),
        ("#! /bin/sh\nset ports p1 mtu 9\n", "line 1 is a command of a script"),
        ("set ports p1 mtu 9\ncommit\n", "line 2 is a command of a script"),
    ],
)
def test_what_is_no_whole_configuration_is_told(text: str, problem: str):
    parser = Braces(lines(text), PLATFORM)
    parser.run()
    assert parser.lines.problem.startswith(problem)


def test_a_script_s_words_in_a_comment_are_a_comment():
    parser = Braces(lines("/*\ncommit\n#!\n*/\nset ports p1 mtu 9\n"), PLATFORM)
    parser.run()
    assert parser.lines.problem == ""
    assert [Disposition(kind) for kind in parser.lines.kinds][:4] == [Disposition.COMMENT] * 4


@pytest.mark.parametrize("text", [";", "set ;", "## nothing", "a { ; }", '""', "deactivate x"])
def test_a_line_of_signs_is_accounted_for(text: str):
    assert Disposition.UNSEEN not in sections(text)[1]


def test_lines_of_braces_share_the_fate_of_what_is_in_them():
    _, kinds = sections("ports {\n fan {\n  speed 1\n }\n}\nclocks {\n zone UTC\n}\nports {\n strange\n}\n")
    assert kinds[:5] == [Disposition.HARMLESS] * 5
    assert kinds[5:8] == [Disposition.OUTSIDE] * 3
    assert kinds[8:] == [Disposition.READ, Disposition.NOT_UNDERSTOOD, Disposition.READ]


BRACES = """\
interfaces {
    bridge br0 {
        enable-vlan
        member {
            interface eth1 {
                allowed-vlan 20-21
                native-vlan 10
            }
        }
        vif 10 {
            address 10.0.10.1/24
        }
    }
    ethernet eth1 {
        description "the \\"left\\" one"
    }
}
system {
    host-name twice
}
"""
SET = """\
set interfaces bridge br0 enable-vlan
set interfaces bridge br0 member interface eth1 allowed-vlan '20-21'
set interfaces bridge br0 member interface eth1 native-vlan '10'
set interfaces bridge br0 vif 10 address '10.0.10.1/24'
set interfaces ethernet eth1 description 'the "left" one'
set system host-name 'twice'
"""


def test_a_device_is_the_same_in_both_forms():
    one, other = (read("vyos", [CaptureFile("running.cfg", text.encode())]) for text in (BRACES, SET))
    assert one.state == other.state
    assert one.complete
    assert other.complete
    assert str(one.state.ports["eth1"].tagged) == "20-21"
    assert one.state.ports["eth1"].description == 'the "left" one'


ENDS = ("start 10.0.9.10", "stop 10.0.9.20")
RANGE = "\n".join(("range 0 {", *ENDS, "}"))


@pytest.mark.parametrize(
    "text",
    [
        f"service {{ dhcp-server {{ shared-network-name A {{ subnet 10.0.9.0/24 {{ {RANGE} }} }} }} }}",
        "\n".join(f"set service dhcp-server shared-network-name A subnet 10.0.9.0/24 range 0 {end}" for end in ENDS),
    ],
)
def test_a_section_may_be_there_by_what_is_within_it(text: str):
    scopes = read("vyos", [CaptureFile("running.cfg", text.encode())]).state.dhcp
    assert {prefix: scope.pools for prefix, scope in scopes.items()} == {"10.0.9.0/24": ("10.0.9.10-10.0.9.20",)}
