"""Broken plans, each with the errors that it must give: where, and in which words.

A file under ``fixtures/bad/plans`` opens with one line an error, ``# expect: LINE | KEY | WORDS`` (line 0: the file as
a whole; key ``-``: none), and with ``# never: TEXT`` for what no error may show.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

import pytest

from auditor import load_plan
from auditor.errors import PlanError
from auditor.plan.loader import parse
from auditor.yamltree import MAX_BYTES
from tests.conftest import FIXTURES

FILES = sorted((FIXTURES / "bad" / "plans").glob("*.yaml"))
MANY = 45


@dataclass
class Header:
    """What a bad plan says of itself."""

    expected: list[tuple[int, str, str]] = field(default_factory=list)
    never: list[str] = field(default_factory=list)


def header_of(path):
    header = Header()
    for line in path.read_bytes().decode("latin-1").split("\n"):
        if match := re.fullmatch(r"# expect: (\d+) \| (.*?) \| (.*)", line):
            number, key, words = match.groups()
            header.expected.append((int(number), "" if key == "-" else utf8(key), utf8(words)))
        elif match := re.fullmatch(r"# never: (.*)", line):
            header.never.append(match[1])
    return header


def utf8(text):
    """Give back what was UTF-8 in a file that is read byte by byte, for some of these are no UTF-8."""
    return text.encode("latin-1").decode()


def problems_of(path):
    with pytest.raises(PlanError) as caught:
        load_plan(path)
    return caught.value.problems


def test_there_are_many():
    assert len(FILES) >= MANY


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_bad_plan_gives_its_errors_and_no_others(path):
    header, problems = header_of(path), problems_of(path)
    assert header.expected, "a bad plan says at its head what is wrong with it"
    found = [(problem.line, problem.key) for problem in problems]
    assert sorted(found) == sorted((line, key) for line, key, _ in header.expected)
    for line, key, words in header.expected:
        messages = [problem.message for problem in problems if (problem.line, problem.key) == (line, key)]
        assert any(words in message for message in messages), messages


def every_problem():
    """Yield each file with its problems; a file that raises none or something else has a test of its own above."""
    for path in FILES:
        try:
            load_plan(path)
        except PlanError as error:
            yield path, error.problems
        except Exception:  # noqa: BLE001 - reported by the test of this file
            continue


def test_an_error_is_one_line_that_names_the_file():
    for path, problems in every_problem():
        for problem in problems:
            assert str(problem).startswith(f"{path}:{problem.line}: " if problem.line else f"{path}: ")
            assert "\n" not in str(problem), path.stem
            assert len(str(problem)) < 1000, f"{path.stem}: an error that repeats half the plan helps nobody"


def test_errors_come_in_the_order_of_the_file():
    for path, problems in every_problem():
        lines = [problem.line for problem in problems]
        assert lines == sorted(lines), path.stem
        assert max(lines) <= len(path.read_bytes().split(b"\n")), path.stem


def test_only_words_that_are_known_are_suggested():
    for path, problems in every_problem():
        text = path.read_bytes().decode("latin-1")
        for problem in problems:
            if match := re.search(r"did you mean (.*?)\?( Known here: (.*))?$", problem.message):
                assert match[1] in (match[3] or problem.message + text), path.stem


@pytest.mark.parametrize("path", [path for path in FILES if header_of(path).never], ids=lambda path: path.stem)
def test_an_error_never_shows_a_secret(path):
    with pytest.raises(PlanError) as caught:
        load_plan(path)
    for secret in header_of(path).never:
        assert secret.encode() in path.read_bytes()
        assert secret not in str(caught.value)
        assert secret not in repr(caught.value)
        assert not any(secret in repr(problem) for problem in caught.value.problems)


def test_a_file_that_is_not_there_is_an_error(tmp_path):
    with pytest.raises(PlanError, match="cannot be read: No such file"):
        load_plan(tmp_path / "plan.yaml")
    with pytest.raises(PlanError, match="cannot be read: Is a directory"):
        load_plan(tmp_path)


def test_a_plan_that_is_too_large_is_refused_unread():
    text = "format: 1\nsite: Mill Lane Bakery\n#" + "x" * MAX_BYTES
    with pytest.raises(PlanError, match="larger than 4096 KiB"):
        parse("plan.yaml", text.encode())


@pytest.mark.parametrize("data", [b"", b"\n", b"---\n", b"null\n", b"# nothing\n", b"\xef\xbb\xbf", b"   "])
def test_an_empty_plan_is_no_plan(data):
    with pytest.raises(PlanError, match="expected a plan"):
        parse("plan.yaml", data)


@pytest.mark.parametrize("encoding", ["utf-16", "utf-32", "latin-1"])
def test_other_encodings_are_refused(encoding):
    with pytest.raises(PlanError, match="not valid UTF-8"):
        parse("plan.yaml", "format: 1\nsite: Café\n".encode(encoding))


def test_a_byte_order_mark_and_any_line_ends_are_read():
    for ends in ("\n", "\r\n"):
        text = f"format: 1{ends}site: Café{ends}subnets:{ends}  shop: {{vlan: 0, prefix: 10.20.10.0/24}}{ends}"
        with pytest.raises(PlanError) as caught:
            parse("plan.yaml", b"\xef\xbb\xbf" + text.encode())
        assert [(problem.line, problem.key) for problem in caught.value.problems] == [(4, "subnets.shop.vlan")]
