"""YAML with line numbers: the core schema of YAML 1.2, bounded in size, and never an exception."""

from __future__ import annotations

import re

import pytest
import yaml
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from auditor import yamltree
from auditor.errors import PlanError
from auditor.plan.loader import parse
from auditor.yamltree import MAX_DEPTH, Written
from tests.effort import amount
from tests.plan.example import PLAN


@pytest.mark.parametrize(
    ("text", "value"),
    [
        # YAML 1.2.2, section 10.3.2: tag resolution of the core schema
        ("null", None), ("Null", None), ("NULL", None), ("~", None), ("", None),
        ("true", True), ("True", True), ("TRUE", True), ("false", False), ("FALSE", False),
        ("0", 0), ("-12", -12), ("+7", 7), ("0o14", 12), ("0x1F", 31), ("0123", 123),
        ("1.5", 1.5), (".5", 0.5), ("-1e3", -1000.0), ("1.", 1.0), ("12E-2", 0.12),
        # what YAML 1.1 would take for something else is text
        ("yes", "yes"), ("no", "no"), ("on", "on"), ("off", "off"), ("y", "y"), ("n", "n"),
        ("12:30:00", "12:30:00"), ("190:20:30", "190:20:30"), ("1_000", "1_000"), ("0b1010", "0b1010"),
        ("2027-03-31", "2027-03-31"), ("2027-03-31T10:00:00Z", "2027-03-31T10:00:00Z"), ("=", "="), ("nUll", "nUll"),
        ("10.20.10.0/24", "10.20.10.0/24"), ("00:00:5e:00:53:01", "00:00:5e:00:53:01"), ("1.2.3", "1.2.3"),
        # quoted, and in blocks
        ("'true'", "true"), ('"0123"', "0123"), ("'~'", "~"), ("|\n  a\n  b\n", "a\nb\n"), (">\n  a\n  b\n", "a b\n"),
        ('"\\u00e9"', "é"), ("'it''s'", "it's"),
    ],
)  # fmt: skip
def test_plain_values_are_those_of_the_core_schema(text, value):
    tree = yamltree.parse(f"key: {text}")
    assert not tree.problems
    assert tree.value == {"key": value}
    assert isinstance(tree.value["key"], type(value))


@pytest.mark.parametrize("text", ["0123", "4711", "2.40", "1e3", "0x1F", "-0", "+5", "1.", "00005e005301"])
def test_numbers_remember_how_they_were_written(text):
    assert yamltree.parse(text).value.raw == text


@pytest.mark.parametrize(
    "number", ["9" * 5000, "-" + "9" * 5000, "9" * 100_000, "0x" + "f" * 5000, "1e99999", "9" * 400 + ".5"]
)
def test_a_number_of_any_length_is_read_or_refused_and_no_crash(number):
    """Python refuses to convert whole numbers of more than 4300 digits, by ValueError."""
    tree = yamltree.parse(f"key: {number}")
    assert tree.problems or "key" in tree.value


def test_every_path_knows_its_line():
    tree = yamltree.parse("a: 1\nb:\n  - x\n  - c:\n      d: [p,\n  q]\n'e f': {g: h}\n")
    wanted = {
        ("a",): 1, ("b",): 2, ("b", 0): 3, ("b", 1): 4, ("b", 1, "c"): 4, ("b", 1, "c", "d"): 5,
        ("b", 1, "c", "d", 1): 6, ("e f",): 7, ("e f", "g"): 7,
    }  # fmt: skip
    assert {path: tree.lines[path] for path in wanted} == wanted
    assert tree.line(("b", 1, "c", "nothing", "here")) == 4
    assert tree.line(("nothing",)) == 1


@pytest.mark.parametrize(
    ("text", "line", "words"),
    [
        ("a: 1\nb: 2\na: 3\n", 3, "duplicate key, first in line 1"),
        ("a: {b: 1,\n b: 2}\n", 2, "duplicate key, first in line 1"),
        ("10: x\n'10': y\n", 2, "duplicate key"),
        ("a: !!binary aGk=\n", 1, "a YAML tag"),
        ("a: !mine {b: c}\n", 1, "a YAML tag"),
        ("a: !!int many\n", 1, ""),
        ("a: !!float many\n", 1, ""),
        ("a: !!bool maybe\n", 1, ""),
        ("a: !!null something\n", 1, ""),
        ("? {a: b}\n: c\n", 1, "a key must be plain text"),
        ("a: *b\n", 1, "not valid YAML"),
        ("a: [\n", 2, "not valid YAML"),
        ("a: b\n\tc: d\n", 2, "not valid YAML"),
        ("a: b: c\n", 1, "not valid YAML"),
        ("a: b\n...\nc\n---\nd\n", 3, "not valid YAML"),
        ("a: \x01\n", 1, "not valid YAML"),
        ("a: b\nc: \x00\n", 2, "not valid YAML"),
    ],
)
def test_problems_know_their_line(text, line, words):
    (problem,) = yamltree.parse(text).problems
    assert words in problem.message
    assert problem.line == line


def test_a_tag_is_left_out_of_the_value():
    tree = yamltree.parse("a: !!timestamp 2027-03-31\nb: 1\n")
    assert tree.value == {"b": 1}


def bomb(width, depth):
    """Return aliases of aliases: the text is short, what it stands for is not."""
    lines = ["a0: &a0 [" + ", ".join(["x"] * width) + "]"]
    lines += [f"a{n}: &a{n} [" + ", ".join([f"*a{n - 1}"] * width) + "]" for n in range(1, depth)]
    return "\n".join(lines)


@pytest.mark.slow
@pytest.mark.parametrize(
    "text",
    [
        bomb(10, 9),
        bomb(2, 36),
        "a: &a [*a]",
        "a: &a {b: *a}",
        "a: " + "[" * (MAX_DEPTH + 1) + "]" * (MAX_DEPTH + 1),
        "a: " + "{b: " * 3000 + "}" * 3000,
        "- " * 5000 + "x",
        "[" * 20_000,
        "\n".join(" " * n + "a:" for n in range(300)),
    ],
)
def test_what_is_larger_than_any_plan_is_refused_in_short_time(text):
    tree = yamltree.parse(text)
    assert tree.problems
    assert tree.value is None


def test_a_plan_of_ordinary_depth_and_aliases_is_read():
    assert yamltree.parse(bomb(4, 5)).value["a4"][3][3][3][3] == ["x"] * 4
    deep = "a: " + "[" * 30 + "]" * 30
    assert not yamltree.parse(deep).problems


@given(st.text(max_size=200))
def test_any_text_is_a_tree_or_a_problem(text):
    tree = yamltree.parse(text)
    assert all(problem.line <= text.count("\n") + 1 for problem in tree.problems if len(text.splitlines()) <= 1)


LETTERS = st.text(st.characters(exclude_categories=["Cs", "Nd"]), max_size=12)
"""Text without digits: PyYAML leaves ``0E0`` unquoted, which is text in YAML 1.1 and a number in YAML 1.2."""
YAML_VALUES = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(-(2**40), 2**40), LETTERS),
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(LETTERS, inner, max_size=4)),
    max_leaves=12,
)


@given(YAML_VALUES, st.booleans())
def test_what_a_reference_library_writes_is_read_back(value, flow):
    """PyYAML writes YAML 1.1 and quotes more than it must; read by the core schema it is the same data."""
    text = yaml.safe_dump(value, default_flow_style=flow, allow_unicode=True)
    assume(yaml.safe_load(text) == value)  # it does not read every line separator back that it writes
    tree = yamltree.parse(text)
    assert not tree.problems
    assert tree.value == value


PIECES = [
    "{", "}", "[", "]", ":", "- ", "&a ", "*a", "!", "!!int ", "\t", "\n", "'", '"', "#", "%", "|", ">", "\x00", "é",
    "? ", ", ", "null", "true", "1e9", "0x", "<<: ", "---\n", "...\n", "~", "9" * 30, "-1", "'': ", "{}", "[]",
]  # fmt: skip
WORDS = re.findall(r"[\w.-]+|\W", PLAN)


@st.composite
def mutated_plans(draw):
    """The example plan with some words swapped, doubled, dropped or replaced by what YAML gives a meaning."""
    words = list(WORDS)
    for _ in range(draw(st.integers(1, 6))):
        place = draw(st.integers(0, len(words) - 1))
        what = draw(st.sampled_from(["drop", "double", "piece", "swap", "word"]))
        other = draw(st.integers(0, len(words) - 1))
        if what == "drop":
            del words[place]
        elif what == "double":
            words.insert(place, words[place])
        elif what == "piece":
            words[place] = draw(st.sampled_from(PIECES))
        elif what == "swap":
            words[place], words[other] = words[other], words[place]
        else:
            words[place] = words[other]
    return "".join(words)


def problems_of(text):
    """Return what is wrong with a plan; anything raised that is no PlanError is a bug."""
    try:
        parse("plan.yaml", text.encode())
    except PlanError as error:
        return error.problems or pytest.fail("an error without a problem")
    return []


@settings(max_examples=amount(quick=20, ci=60, long=150))
@given(mutated_plans())
def test_a_mutated_plan_is_read_or_refused_and_nothing_else(text):
    assert all(problem.line <= text.count("\n") + 2 for problem in problems_of(text))


SCALARS = st.sampled_from(
    [
        "",
        "~",
        "true",
        "5",
        "-1",
        "1.5",
        "x",
        "''",
        "[]",
        "{}",
        "[[]]",
        "[x]",
        "{x: y}",
        "[{x: y}]",
        "{'': 0}",
        "10.20.10.0/24",
    ]
)


@settings(max_examples=amount(quick=20, ci=60, long=150))
@given(st.data())
def test_any_value_replaced_by_one_of_another_type_is_refused_or_read(data):
    """Take a leaf or a whole entry of the plan and put something of another shape in its place."""
    places = [match.span(1) for match in re.finditer(r"(?<=: )(\[[^\[\]]*\]|\{[^{}]*\}|[^\s{\[,}\]][^,}\]\n]*)", PLAN)]
    start, end = data.draw(st.sampled_from(places))
    problems_of(PLAN[:start] + data.draw(SCALARS) + PLAN[end:])


def test_where_each_value_was_written_through_several_files():
    """As where a plan stands on what several sites have in common."""
    tree = yamltree.parse("a: 1\nb:\n  c: 2\n", "plan.yaml")
    tree.files["b",] = "standard.yaml"
    assert tree.written(("a",)) == Written("plan.yaml", 1)
    assert tree.written(("b", "c")) == Written("standard.yaml", 3)
    assert tree.written(("nothing",)) == Written("plan.yaml", 1)
