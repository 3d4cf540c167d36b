"""Bytes become lines: encodings, terminal leftovers, and every line still at its number."""

from __future__ import annotations

import codecs

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.reading.source import CaptureFile, Disposition, Lines, decode, lines_of
from tests.reading.texts import ios, kinds, state_of


def lines(data: bytes | str) -> Lines:
    return lines_of(CaptureFile("capture", data if isinstance(data, bytes) else data.encode()))


TEXT = "hostname Büro-1\n description größer — 中文\n"


@pytest.mark.parametrize(
    "data",
    [
        TEXT.encode(),
        codecs.BOM_UTF8 + TEXT.encode(),
        codecs.BOM_UTF16_LE + TEXT.encode("utf-16-le"),
        codecs.BOM_UTF16_BE + TEXT.encode("utf-16-be"),
    ],
    ids=["utf-8", "utf-8 with mark", "utf-16 little end", "utf-16 big end"],
)
def test_unicode_is_told_by_its_mark(data: bytes):
    assert decode(data) == TEXT


def test_a_line_that_is_no_utf8_is_windows_1252_and_its_neighbours_stay():
    # Windows-1252: E9 is é, 80 is the euro sign, which ISO 8859-1 does not have (unicode.org, MAPPINGS/VENDORS/MICSFT)
    data = " description café".encode("cp1252") + b"\n description 5 \x80\n" + " description größer".encode()
    assert lines(data).texts == [" description café", " description 5 €", " description größer"]


def test_bytes_that_are_nothing_do_not_stop_the_reading():
    assert len(lines(b"hostname a\n\x81\x8d\x8f\xff\xfe\nhostname b").texts) == 3


def test_a_zero_byte_is_dropped():
    assert lines(b"host\x00name sw\x00\n").texts == ["hostname sw"]


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r\r\n"])
def test_line_ends_of_all_kinds(end: str):
    assert lines(end.join(["hostname sw", " ip x", ""])).texts == ["hostname sw", " ip x"]


def test_line_ends_may_be_mixed_and_the_last_may_be_missing():
    assert lines("one\ntwo\r\nthree   \r\nfour").texts == ["one", "two", "three", "four"]


@pytest.mark.parametrize("character", ["\x0b", "\x0c", "\x1c", "\x1d", "\x1e", "\x85", "\u2028", "\u2029"])
def test_only_a_line_feed_ends_a_line(character: str):
    # str.splitlines() would cut at each of these (Python library reference, str.splitlines)
    reading = ios(f"interface GigabitEthernet0/1\n description a{character}b\n switchport access vlan 7")
    port = state_of(reading)["ports"]["GigabitEthernet0/1"]
    assert (port["description"], port["untagged"]) == (f"a{character}b", 7)
    assert kinds(reading) == ["read"] * 5


@pytest.mark.parametrize(
    ("raw", "shown"),
    [
        ("abc\x08\x08XY", "aXY"),
        ("\x08\x08abc", "abc"),
        (
            " --More-- \x08\x08\x08\x08\x08\x08\x08\x08\x08\x08          \x08\x08\x08\x08\x08\x08\x08\x08\x08\x08 ip x",
            " ip x",
        ),
        ("\x1b[7m--More--\x1b[m\r        \r ip x", " ip x"),
        ("\x1b[1;31mred\x1b[0m text\x1b[K", "red text"),
        ("\x1b]0;window title\x07prompt#", "prompt#"),
        ("long text\rnew", "newg text"),
        ("\x1b[2J\x1b[Hhostname sw", "hostname sw"),
        ("\x1b7\x1b8hostname sw\x1b=", "hostname sw"),
        ("\x1b(B\x1b[mhostname sw", "hostname sw"),
        (" --More-- \r\x1b[K exit", " exit"),
    ],
)
def test_a_line_is_what_a_terminal_would_have_shown(raw: str, shown: str):
    # ECMA-48 control sequences; backspace and carriage return move, they do not delete
    assert lines(f"{raw}\nnext\n").texts == [shown, "next"]


@pytest.mark.parametrize(
    "pager",
    [
        " --More-- ",
        "--More--",
        "<--- More --->",
        "-- More --",
        "--More-- or (q)uit",
        "-- [Q quit|D dump|down]",
        "Press any key to continue (Q to quit)",
    ],
)
def test_a_pager_is_undone_and_its_line_may_have_lost_its_indentation(pager: str):
    found = lines(f"interface Vlan1\n{pager}\n shutdown\n")
    assert found.texts == ["interface Vlan1", "", " shutdown"]
    assert found.loose == {2}


def test_a_pager_before_text_leaves_the_text():
    found = lines(" --More--  switchport mode access\n")
    assert found.texts == ["switchport mode access"]
    assert found.loose == {1}


@pytest.mark.parametrize("line", [" description more ports", " description --More-- to come", "banner ^C quit ^C"])
def test_the_word_more_is_no_pager(line: str):
    found = lines(f"interface Vlan1\n{line}\n")
    assert found.texts[1] == line
    assert found.loose == set()


@given(st.lists(st.text(st.characters(exclude_characters="\n", exclude_categories=["Cs"]), max_size=40), max_size=12))
def test_no_line_disappears(texts: list[str]):
    found = lines("\n".join(texts) + "\n")
    assert len(found.texts) == len(found.kinds) == max(1, len(texts))


@given(st.binary(max_size=300))
def test_any_bytes_become_as_many_lines_as_they_have_line_feeds(data: bytes):
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        assert isinstance(decode(data), str)
        return
    assert len(lines(data).texts) == data.count(b"\n") + (not data.endswith(b"\n") and bool(data.strip(b"\n") or data))


def test_the_account_keeps_what_matters_most_of_a_line():
    found = lines("one\ntwo\n")
    found.account([1, 1, 2], bytes([Disposition.NOT_UNDERSTOOD, Disposition.READ, Disposition.HARMLESS]))
    assert list(found.kinds) == [Disposition.NOT_UNDERSTOOD, Disposition.HARMLESS]
    assert list(found.numbered(Disposition.NOT_UNDERSTOOD)) == [1]


def test_a_source_knows_its_hash():
    # FIPS 180-4 example: SHA-256 of "abc"
    assert CaptureFile("x", b"abc").sha256 == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
