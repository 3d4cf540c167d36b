"""Pieces of corrections: lines that hold what is indented below them, and files that share with each other."""

from __future__ import annotations

from typing import Any

import pytest
from jinja2 import Environment

from auditor import yamltree
from auditor.platforms import catalogue
from auditor.platforms.pieces import FILE, jinja, pieces_of
from auditor.resources import templates_root


def written(piece: str, **values: Any) -> list[str]:
    """Return the lines that a piece writes."""
    environment = Environment(extensions=["jinja2.ext.do"], trim_blocks=True, lstrip_blocks=True)
    text = environment.from_string(jinja(piece)).render(inside=lambda place, caller: f"{place}({caller()})", **values)
    return [line for line in text.splitlines() if line.strip()]


CHAIN = "% if a then one\n% elif b\n  two\n   three\n% else\n  % for x in (4, 5) do {{ x }}\nend"


@pytest.mark.parametrize(
    ("values", "lines"),
    [
        ({"a": True, "b": True}, ["one", "end"]),
        ({"a": False, "b": True}, ["two", " three", "end"]),
        ({"a": False, "b": False}, ["4", "5", "end"]),
    ],
)
def test_a_condition_holds_what_is_indented_below_it_or_follows_on_its_line(values, lines):
    assert written(CHAIN, **values) == lines


def test_a_line_may_hold_another_one_that_holds_what_is_below_both():
    assert written("% if a then % for x in (1, 2)\n  {{ x }}\n    deeper\nend", a=True) == [
        "1",
        "  deeper",
        "2",
        "  deeper",
        "end",
    ]


def test_a_section_holds_its_lines_and_a_loop_may_say_what_there_is_where_it_has_none():
    assert written("% in vlan {{ n }}\n  % for x in () do {{ x }}\n  % else none", n=7) == ["vlan 7(none", ")"]


def test_names_are_given_on_one_line_or_on_several():
    names = "% set a, b = 1, 2 ; c = 3\n% list odd = x for x in (a, b, c) \\\n    if x is odd\n"
    assert written(names + "% do odd.append(9)\n{{ odd }}") == ["[1, 3, 9]"]


def test_a_text_that_begins_deeper_is_no_part_of_what_stands_on_one_line():
    assert written("% if a then one\n  two", a=False) == ["  two"]


@pytest.mark.parametrize("name", [name for name in catalogue.names() if catalogue.has_template(name, FILE)])
def test_the_pieces_of_a_platform_are_put_together(name):
    pieces = pieces_of(name)
    assert pieces.entry("ports.enabled") == "ports.enabled"
    assert pieces.entry("ports.nothing", "ports") == "ports"
    assert pieces.entry("nothing") == ""


def test_a_platform_has_the_pieces_of_the_one_that_it_is_like_and_words_of_its_own():
    mine, other = pieces_of("ubiquiti_edgerouter"), pieces_of("vyos")
    assert mine.entries == other.entries
    assert mine.source != other.source


def test_shared_pieces_are_used():
    texts = [file.joinpath(FILE) for file in templates_root().joinpath("platforms").iterdir()]
    data = [yamltree.parse(file.read_text(encoding="utf-8")).value for file in texts if file.is_file()]
    shared = {file.name.removesuffix(".yaml") for file in templates_root().joinpath("shared").iterdir()}
    assert {name for each in data for name in each.get("uses", [])} == shared
