"""Answers to several commands, each in its own layout: tables beside braces, UCI and key=value, however they are saved.

The platforms are made up: each is like a real one and has one more command, in a copy of the templates. What the
tables look like is common practice, no source.
"""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from auditor.areas import Reading, read
from auditor.core.state import Setting
from auditor.platforms import catalogue
from auditor.platforms.live import answer_file
from auditor.reading.source import CaptureFile, Disposition
from tests.conftest import ROOT


@dataclass(frozen=True)
class Dialect:
    """A dialect with one more command: its data, the template of its table, a configuration and a table.

    ``setting``: the setting of ports that the table tells; ``told``: what it tells of each; ``tagged``: their VLANs.
    """

    like: str
    first: str
    command: str
    prompt: str
    data: str
    template: str
    configuration: str
    table: str
    setting: str
    told: dict[str, object]
    tagged: dict[str, list[int]] = field(default_factory=dict)


BRACES = Dialect(
    like="vyos",
    first="show configuration",
    command="show interfaces",
    prompt="vyos@rampart:~$ ",
    data="""\
    layout: table
    sections: [{opens: 'Interface +IP Address .*', template: interface.listing, flat: '(-+|eth\\d+) .*'}]
    shows: {ports.description: 'Interface '}
""",
    template="""\
Value NAME (eth\\d+)
Value DESCRIPTION (\\S.*)

Start
  ^-+
  ^${NAME} +\\S+ +[uAD]/[uD]( +${DESCRIPTION})?$$ -> Record
  ^ +[\\da-f:.]+/\\d+
  ^. -> Error

EOF
""",
    configuration="""\
interfaces {
    ethernet eth0 {
        address 198.51.100.18/30
    }
    ethernet eth1 {
        vif 10 {
            address 10.52.10.1/24
        }
    }
}
system {
    host-name rampart
}
""",
    table="""\
Codes: S - State, L - Link, u - Up, D - Down, A - Admin Down
Interface        IP Address                        S/L  Description
---------        ----------                        ---  -----------
eth0             198.51.100.18/30                  u/u  carrier's box
                 2001:db8:40::2/64
eth1             -                                 u/D  till
""",
    setting="description",
    told={"eth0": "carrier's box", "eth1": "till"},
    tagged={"eth1": [10]},
)
UCI = Dialect(
    like="openwrt",
    first="uci export network",
    command="bridge vlan show",
    prompt="root@attic:~# ",
    data="""\
    layout: table
    sections: [{opens: 'port +vlan-id', template: interface.listing, flat: 'lan\\d+ .*'}]
""",
    template="""\
Value NAME (lan\\d+)
Value UNTAGGED_VLAN (\\d+)
Value List TAGGED_VLANS (\\d+)

Start
  ^(?=lan\\d+ +\\d+ PVID ) -> Continue.Record
  ^${NAME} +${UNTAGGED_VLAN} PVID Egress Untagged$$
  ^ +${TAGGED_VLANS}$$
  ^. -> Error
""",
    configuration="""\
package network

config device
\toption name 'br-lan'
\toption type 'bridge'
\toption vlan_filtering '1'
\tlist ports 'lan1'
\tlist ports 'lan2'
""",
    table="""\
port              vlan-id
lan1              10 PVID Egress Untagged
                  20
                  30
lan2              20 PVID Egress Untagged
""",
    setting="untagged",
    told={"lan1": 10, "lan2": 20},
    tagged={"lan1": [20, 30]},
)
STATEMENTS = Dialect(
    like="mikrotik_routeros",
    first="/export",
    command="/interface print",
    prompt="[admin@rampart] > ",
    data="""\
    layout: table
    sections: [{opens: 'ID +STATE +NAME +TYPE', template: interface.listing, flat: '\\d+ +.*'}]
""",
    template="""\
Value NAME (ether\\d+)
Value DISABLED (disabled|up)

Start
  ^\\d+ +${DISABLED} +${NAME} +ether$$ -> Record
  ^. -> Error

EOF
""",
    configuration="""\
# 2026-01-01 00:00:00 by RouterOS 7.15
/interface ethernet
set [ find default-name=ether1 ] comment=till
/system identity
set name=rampart
""",
    table="""\
ID STATE     NAME     TYPE
0  up        ether1   ether
1  disabled  ether2   ether
""",
    setting="enabled",
    told={"ether1": True, "ether2": False},
)
DIALECTS = {"braces": BRACES, "uci": UCI, "statements": STATEMENTS}


@pytest.fixture(params=list(DIALECTS))
def dialect(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Dialect]:
    """One of the dialects, as a platform in a copy of the templates."""
    found = DIALECTS[request.param]
    shutil.copytree(ROOT / "templates" / "platforms", tmp_path / "platforms")
    home = tmp_path / "platforms" / name_of(found)
    home.mkdir()
    text = f"like: {found.like}\nabout: invented\ncommands:\n  {found.first}:\n  {found.command}:\n{found.data}"
    (home / "platform.yaml").write_text(text, encoding="utf-8")
    (home / "interface.listing.textfsm").write_text(found.template, encoding="utf-8")
    monkeypatch.setattr("auditor.resources.templates_root", lambda: tmp_path)
    monkeypatch.setattr("auditor.platforms.catalogue.templates_root", lambda: tmp_path)
    catalogue.names.cache_clear()
    yield found
    monkeypatch.undo()
    catalogue.names.cache_clear()


def name_of(dialect: Dialect) -> str:
    return f"{dialect.like}_beside_tables"


def reading_of(dialect: Dialect, texts: dict[str, str]) -> Reading:
    return read(name_of(dialect), [CaptureFile(name, text.encode()) for name, text in texts.items()])


def ways(dialect: Dialect) -> dict[str, dict[str, str]]:
    """Return the ways in which people save the answers to two commands."""
    configuration, table = dialect.configuration, dialect.table
    first, second = (f"{dialect.prompt}{command}\n" for command in (dialect.first, dialect.command))
    short = " ".join(word[:5] if word[0].isalpha() else word for word in dialect.command.split())
    without_legend = table[table.index("Interface ") :] if dialect is BRACES else table
    return {
        "a file for each": {"running.cfg": configuration, answer_file(dialect.command): table},
        "files of any name": {"running.cfg": configuration, "listing.log": without_legend},
        "with prompts": {"session.log": f"{first}{configuration}{second}{table}{dialect.prompt}"},
        "the table first": {"session.log": f"{second}{table}{first}{configuration}{dialect.prompt}"},
        "a shortened command": {"session.log": f"{configuration}{dialect.prompt}{short}\n\n{table}{dialect.prompt}"},
        "without prompts": {"session.log": f"{configuration}\n{without_legend}"},
        "without prompts, the table first": {"session.log": f"{without_legend}\n{configuration}"},
    }


def test_a_table_is_read_beside_any_configuration_however_it_is_saved(dialect: Dialect):
    states = []
    for way, texts in ways(dialect).items():
        reading = reading_of(dialect, texts)
        states.append(reading.state)
        assert {name: getattr(port, dialect.setting) for name, port in reading.state.ports.items()} == dialect.told, way
        assert reading.problem == "", way
        assert reading.quoted_not_understood() == [], way
        kinds = {t: Disposition(k) for file in reading.lines for t, k in zip(file.texts, file.kinds, strict=True)}
        assert {kinds[row] for row in dialect.table.splitlines()[-2:]} == {Disposition.READ}, way
        assert Disposition.UNSEEN not in kinds.values(), way
    assert [state for state in states if state != states[0]] == []


def test_indented_lines_go_on_with_a_row_of_the_table_or_with_the_configuration(dialect: Dialect):
    ports = reading_of(dialect, ways(dialect)["with prompts"]).state.ports
    assert {name: sorted(port.tagged) for name, port in ports.items() if port.tagged} == dialect.tagged


def test_the_configuration_alone_is_read_as_before(dialect: Dialect):
    texts = [CaptureFile("running.cfg", dialect.configuration.encode())]
    alone, before = read(name_of(dialect), texts), read(dialect.like, texts)
    assert alone.state == before.state
    assert [file.kinds for file in alone.lines] == [file.kinds for file in before.lines]


def test_a_row_that_the_template_does_not_know_is_not_lost_silently(dialect: Dialect):
    odd = f"{dialect.table.splitlines()[-1].split()[0]} of no shape that anybody knows"
    texts = {"running.cfg": dialect.configuration, answer_file(dialect.command): f"{dialect.table}{odd}\n"}
    assert [line.text for line in reading_of(dialect, texts).quoted_not_understood()] == [odd]


def test_what_only_a_table_shows_is_asked_for(dialect: Dialect):
    missing, shown = (
        {str(setting): save for setting, save in reading_of(dialect, texts).not_shown.items()}
        for texts in ({"running.cfg": dialect.configuration}, ways(dialect)["with prompts"])
    )
    asked = {name: missing[name] for name in missing.keys() - shown.keys()}
    wanted = {"ports.description": 'also save the output of "show interfaces"'}
    assert asked == (wanted if dialect is BRACES else {})


def test_a_comment_of_the_dialect_ends_no_table(dialect: Dialect):
    sign = catalogue.get(name_of(dialect)).patterns("comment")[0]
    header = next(line for line in dialect.table.splitlines() if re.match(r"(?i)(interface|port|id) ", line))
    body = dialect.table.partition(f"{header}\n")[2]
    commented = f"{header}\n{sign} seen today\n" + body.replace("\n", f"\n{sign} and this\n", 1)
    reading = reading_of(dialect, {"session.log": f"{dialect.configuration}\n{commented}"})
    found = {name: getattr(port, dialect.setting) for name, port in reading.state.ports.items()}
    assert found == dialect.told
    assert reading.quoted_not_understood() == []


def test_evidence_is_the_row_of_the_table(dialect: Dialect):
    reading = reading_of(dialect, ways(dialect)["with prompts"])
    (lines,) = reading.lines
    for name in dialect.told:
        found = reading.evidence_of(Setting("ports", name, dialect.setting))
        rows = [line for line in found if line.text in dialect.table.splitlines() and name in line.text]
        assert rows, name
        assert [line.text for line in rows] == [lines.texts[line.line - 1] for line in rows]
