"""The account: reading ends whatever the text, every line ends as one Disposition, and no secret gets away."""

from __future__ import annotations

import json
import re
from functools import cache
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from auditor.areas import Reading, read
from auditor.platforms import catalogue
from auditor.reading.source import AUDITED_KINDS, CaptureFile, Disposition, lines_of
from auditor.reports.reading import reading_json
from tests.checks import each
from tests.conftest import CORPUS
from tests.effort import amount, share
from tests.platforms.cases import case_id, cases, reading_of, sources

PLATFORMS = catalogue.names()
SOUP = settings(max_examples=amount(quick=8, ci=60, long=250), suppress_health_check=list(HealthCheck))


def check(reading: Reading) -> None:
    """Every line has one disposition, the counts add up, and what is quoted is quoted with its number."""
    counts = {kind: reading.count([kind]) for kind in Disposition}
    assert counts[Disposition.UNSEEN] == 0
    assert sum(counts.values()) == reading.line_count == sum(len(lines.texts) for lines in reading.lines)
    assert reading.audited_lines == sum(counts[kind] for kind in AUDITED_KINDS)
    assert len(reading.quoted_not_understood()) == counts[Disposition.NOT_UNDERSTOOD]
    assert reading.complete == (not reading.problem and not counts[Disposition.NOT_UNDERSTOOD])
    printed = json.loads(reading_json(reading))
    assert sum(printed["accounted"].values()) == printed["lines"] == reading.line_count
    assert printed["audited_lines"] == reading.audited_lines


def test_what_is_read_harmless_or_not_understood_is_of_an_audited_area():
    """A remark, a blank line and what is of no audited area are not."""
    of_areas = [
        "/system identity set name=gw1",
        "/ip service webserver set default-certificate=x",
        "/ip address add frob=1",
    ]
    others = ["# a remark", "", "/system leds set 0 leds=user-led"]
    reading = read("mikrotik_routeros", [CaptureFile("gw1.rsc", "\n".join([*of_areas, *others]).encode())])
    kinds = [lines.kinds[:3] for lines in reading.lines]
    assert [set(map(Disposition, found)) for found in kinds] == [
        {Disposition.READ, Disposition.HARMLESS, Disposition.NOT_UNDERSTOOD}
    ]
    assert reading.audited_lines == len(of_areas)


@cache
def vocabulary(platform: str) -> tuple[list[str], list[str]]:
    """Return the lines and the words of a platform's cases."""
    texts = [line for folder in cases(platform) for source in sources(folder) for line in lines_of(source).texts]
    words = sorted({word for line in texts for word in re.findall(r"[^\s=]+=?|\s+", line)})
    return sorted(set(texts)), words


@pytest.mark.parametrize("platform", PLATFORMS)
def test_every_line_of_a_case_is_accounted_for(platform: str):
    each(cases(platform), every_line_of_a_case_is_accounted_for, case_id)


def every_line_of_a_case_is_accounted_for(folder: Path) -> None:
    check(reading_of(folder))


@pytest.mark.parametrize("platform", PLATFORMS)
def test_a_case_that_is_cut_anywhere_is_still_accounted_for(platform: str):
    each(cases(platform), a_case_that_is_cut_anywhere_is_still_accounted_for, case_id)


def a_case_that_is_cut_anywhere_is_still_accounted_for(folder: Path) -> None:
    for source in sources(folder):
        for part in share(range(1, 16), lambda part: f"{folder.name} {part}", quick=8):
            check(read(folder.parent.name, [CaptureFile(source.name, source.data[: len(source.data) * part // 16])]))


@pytest.mark.parametrize("platform", PLATFORMS)
def test_the_order_of_files_does_not_matter(platform: str):
    each(cases(platform), the_order_of_files_does_not_matter, case_id)


def the_order_of_files_does_not_matter(folder: Path) -> None:
    found = sources(folder)
    assert read(folder.parent.name, found[::-1]).state == read(folder.parent.name, found).state


@pytest.mark.parametrize("platform", PLATFORMS)
def test_line_ends_and_trailing_blanks_do_not_matter(platform: str):
    each(cases(platform), line_ends_and_trailing_blanks_do_not_matter, case_id)


def line_ends_and_trailing_blanks_do_not_matter(folder: Path) -> None:
    def padded(data: bytes) -> bytes:
        return b"".join(line.rstrip(b"\r") + b"  \r\n" for line in data.rstrip(b"\n").split(b"\n"))

    found = [CaptureFile(source.name, padded(source.data)) for source in sources(folder)]
    again = read(folder.parent.name, found)
    assert again.state == reading_of(folder).state
    assert [bytes(lines.kinds) for lines in again.lines] == [bytes(lines.kinds) for lines in reading_of(folder).lines]


@pytest.mark.parametrize("platform", PLATFORMS)
def test_soup_of_lines_is_read_to_its_end(platform: str):
    lines, _ = vocabulary(platform)

    @SOUP
    @given(st.lists(st.sampled_from(lines), max_size=25))
    def law(chosen: list[str]):
        check(read(platform, [CaptureFile("soup", "\n".join(chosen).encode())]))

    law()


@pytest.mark.parametrize("platform", PLATFORMS)
def test_soup_of_words_is_read_to_its_end(platform: str):
    _, words = vocabulary(platform)
    odd = st.sampled_from(
        ["0", "4095", "99999999999", "10.0.0.300", "255.0.255.0", "-", ",", "\\", '"', "'", "[", "é", "\x0c"]
    )
    word = st.sampled_from(words) | odd

    @SOUP
    @given(st.lists(st.lists(word, max_size=6).map("".join), max_size=12))
    def law(chosen: list[str]):
        check(read(platform, [CaptureFile("soup", "\n".join(chosen).encode())]))

    law()


@pytest.mark.parametrize("platform", PLATFORMS)
def test_a_case_with_one_word_changed_is_read_to_its_end(platform: str):
    texts = [source.data.decode() for folder in cases(platform) for source in sources(folder)]
    odd = [
        "0",
        "4095",
        "70000",
        "99999999999",
        "10.0.0.300",
        "10.0.0.0/33",
        "255.0.255.0",
        "x",
        "",
        "-1",
        "5-1",
        "@",
        "é",
    ]

    @settings(SOUP, max_examples=amount(quick=20, ci=150, long=600))
    @given(st.sampled_from(texts), st.integers(0, 10**6), st.sampled_from(odd))
    def law(text: str, place: int, value: str):
        numbers = [match.span() for match in re.finditer(r"\d[\d./:-]*", text)]
        if numbers:
            start, end = numbers[place % len(numbers)]
            check(read(platform, [CaptureFile("network", f"{text[:start]}{value}{text[end:]}".encode())]))

    law()


@pytest.mark.parametrize("platform", PLATFORMS)
def test_any_bytes_are_read_to_their_end(platform: str):
    @SOUP
    @given(st.binary(max_size=200), st.binary(max_size=40))
    def law(first: bytes, second: bytes):
        check(read(platform, [CaptureFile("a", first), CaptureFile("b", second)]))

    law()


@pytest.mark.parametrize("platform", PLATFORMS)
def test_next_to_nothing_is_no_configuration(platform: str):
    def refused(data: bytes) -> None:
        reading = read(platform, [CaptureFile("empty", data)])
        check(reading)
        assert reading.problem

    each([b"", b"\n", b"\n\n \n", b"\x00", b"\xff\xfe", b"\xef\xbb\xbf", b"\r\r\r"], refused, repr)


@pytest.mark.parametrize("platform", PLATFORMS)
def test_another_platforms_capture_never_looks_complete_and_settled(platform: str):
    like = {platform, catalogue.get(platform).like} | {n for n in PLATFORMS if catalogue.get(n).like == platform}
    for folder in cases():
        if folder.parent.name != platform:
            reading = read(platform, sources(folder))
            check(reading)
        if folder.parent.name not in like:
            assert (
                reading.problem or reading.count([Disposition.NOT_UNDERSTOOD]) or not reading.count([Disposition.READ])
            )


@pytest.mark.slow
@pytest.mark.skipif(not CORPUS.is_dir(), reason="no real configurations beside the checkout")
@pytest.mark.parametrize("platform", PLATFORMS)
def test_every_line_of_a_real_configuration_is_accounted_for(platform: str):
    folder = CORPUS / platform
    captures = sorted(folder.iterdir()) if folder.is_dir() else []
    for path in captures:
        files = sorted(p for p in path.iterdir() if p.is_file()) if path.is_dir() else [path]
        check(read(platform, [CaptureFile(file.name, file.read_bytes()) for file in files]))
