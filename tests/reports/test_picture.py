"""The picture of a site: nothing overlaps, nothing is outside, the same bytes each time, hostile text inert."""

from __future__ import annotations

import colorsys
import itertools
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.core.report import Report
from auditor.core.service import Fault, Leak, LinkReport, Services
from auditor.reports.html import FORMAT
from auditor.reports.picture import pictures
from auditor.reports.picture.shapes import Picture, ShapeGroup, TextShape
from auditor.reports.picture.text_metrics import ADVANCE, fitted, text_width
from auditor.reports.view import view_of
from tests.conftest import ROOT
from tests.effort import amount
from tests.reports import sites

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = "</text><script>alert(1)</script>\" onload='x' \x1b[31m \u202e \ufffe &amp; ]]> \U0001f4a9"
Rect = tuple[float, float, float, float]

names = st.one_of(
    st.from_regex(r"[a-z]{2,12}[0-9]{0,3}", fullmatch=True),
    st.text(min_size=1, max_size=40).filter(str.strip),
    st.just(HOSTILE),
)
ports = st.sampled_from(["GigabitEthernet1/0/48", "ether2", "lan1", "TenGigabitEthernet1/1/1", HOSTILE, "x" * 70])
vlans = st.sampled_from(["", "10", "10,20,40,99", ",".join(str(vlan) for vlan in range(2, 200, 2))])


@st.composite
def networks(draw: st.DrawFn) -> Report:
    """Return any network of 1 to 45 devices: trees, rings, islands, all states."""
    count = draw(st.integers(1, 45))
    called = draw(st.lists(names, min_size=count, max_size=count, unique=True))
    devices = [
        sites.device(
            name,
            draw(st.sampled_from(["gateway", "core", "access", "access", "ap", "ap"])),
            draw(st.sampled_from(["conforming", "nonconforming", "incomplete"])),
            draw(st.sampled_from(["audited", "audited", "not captured", "not readable"])),
        )
        for name in called
    ]
    links, paths, leaks = [], [], []
    for number, name in enumerate(called[1:], 1):
        if draw(st.integers(0, 9)):  # one in ten is an island
            others = [called[draw(st.integers(0, number - 1))] for _ in range(draw(st.sampled_from([1, 1, 1, 2])))]
            links += [draw(any_link(other, name)) for other in others]
    for name in draw(st.lists(st.sampled_from(called), max_size=20)):
        state = draw(st.sampled_from(["reached", "broken", "unverified"]))
        faults = [Fault(device=draw(st.sampled_from(called)), place=draw(ports), why="is so")]
        kind = draw(st.sampled_from(["wifi", "port", "device"]))
        paths.append(sites.path(kind, name, sites.GUEST, draw(names), state=state, faults=faults))
        if draw(st.booleans()):
            leaks.append(Leak(subnet="staff", vlan=10, kind=kind, device=name, place=draw(names)))
    return sites.report(devices, Services(paths=paths, links=links, leaks=leaks), draw(names))


@st.composite
def any_link(draw: st.DrawFn, one: str, other: str) -> LinkReport:
    state = draw(st.sampled_from(["as planned", "stopped", "leaking", "unverified"]))
    ends = ((one, draw(ports)), (other, draw(ports)))
    wrong = {"stopped": draw(vlans), "leaking": draw(vlans)} if state in ("stopped", "leaking") else {}
    return LinkReport(ends=ends, planned=draw(vlans), observed=None, state=state, **wrong)


def rect_of(text: TextShape) -> Rect:
    """Return left, top, right, bottom of a text as the layout supposes."""
    left = text.x - text.length if text.anchor == "end" else text.x
    height = 14 if text.kind == "name" else 12
    return left, text.y - 0.8 * height, left + text.length, text.y + 0.2 * height


def overlap(one: Rect, other: Rect) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def everything(picture: Picture) -> Iterator[tuple[ShapeGroup, Rect]]:
    for group in picture.groups:
        yield from ((group, (b.x, b.y, b.x + b.width, b.y + b.height)) for b in group.boxes)
        yield from ((group, rect_of(text)) for text in group.texts)
        yield from ((group, (s.x - 5, s.y - 5, s.x + 5, s.y + 5)) for s in group.signs)


def check_geometry(report: Report) -> None:
    for picture in pictures(report):
        rects = list(everything(picture))
        assert sum(len(group.boxes) for group in picture.groups) == len(report.devices)
        for _, (left, top, right, bottom) in rects:
            assert left >= 0
            assert top >= 0
            assert right <= picture.width
            assert bottom <= picture.height
        for (group, one), (other_group, other) in itertools.combinations(rects, 2):
            assert group is other_group or not overlap(one, other), (picture.kind, one, other)
        for group in picture.groups:
            own = [rect_of(text) for text in group.texts] + [(s.x - 5, s.y - 5, s.x + 5, s.y + 5) for s in group.signs]
            assert not any(overlap(one, other) for one, other in itertools.combinations(own, 2))
            for box, inner in itertools.product(group.boxes, own):
                assert box.x <= inner[0]
                assert inner[2] <= box.x + box.width
                assert box.y <= inner[1]
                assert inner[3] <= box.y + box.height
            for wire in group.wires:
                for (x1, y1), (x2, y2) in itertools.pairwise(wire.points):
                    assert x1 == x2 or y1 == y2
                    line = (min(x1, x2) - 0.5, min(y1, y2) + 0.5, max(x1, x2) + 0.5, max(y1, y2) - 0.5)
                    assert not any(overlap(line, other) for g, other in rects if g is not group), picture.kind


def drawn(report: Report) -> list[ET.Element]:
    """Return the drawings of the page, read by expat (W3C XML 1.0)."""
    page = FORMAT.render(view_of(report)).decode()
    return [ET.fromstring(text) for text in re.findall(r"<svg.*?</svg>", page, re.DOTALL)]


@settings(max_examples=amount(quick=8, ci=25, long=80))
@given(networks())
def test_nothing_overlaps_and_nothing_is_outside(report: Report):
    check_geometry(report)


@pytest.mark.parametrize("make", [sites.small, sites.large, sites.unlinked])
def test_made_up_sites_have_their_places(make):
    check_geometry(make())
    assert all(picture.fits for picture in pictures(make()))


@settings(max_examples=amount(quick=4, ci=10, long=25))
@given(networks())
def test_any_drawing_is_well_formed_and_inert(report: Report):
    allowed = {f"{SVG}{name}" for name in ("svg", "title", "desc", "g", "rect", "path", "text")}
    for svg in drawn(report):
        for element in svg.iter():
            assert element.tag in allowed
            assert not {name for name in element.attrib if name.startswith("on") or "href" in name or name == "style"}


def test_hostile_text_is_shown_as_text():
    fault = [Fault(device=HOSTILE, why=HOSTILE)]
    path = sites.path("wifi", HOSTILE, (HOSTILE, 40), HOSTILE, state="broken", faults=fault)
    report = sites.report([sites.device(HOSTILE, "gateway")], Services(paths=[path]), HOSTILE)
    for svg in drawn(report):
        titles = [title.text or "" for title in svg.iter(f"{SVG}title")]
        assert any("<script>alert(1)</script>" in title for title in titles)
        assert any("\\ufffe" in title for title in titles)
        assert all("\u202e" not in title for title in titles)


def test_the_same_report_gives_the_same_bytes_whatever_the_hash_seed():
    code = (
        "import hashlib\n"
        "from auditor.reports.html import FORMAT\n"
        "from auditor.reports.view import view_of\n"
        "from tests.reports import sites\n"
        "print([hashlib.sha256(FORMAT.render(view_of(site()))).hexdigest() for site in (sites.small, sites.large)])"
    )
    told = set()
    for seed in ("1", "2"):
        environment = {**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": str(ROOT)}
        command = [sys.executable, "-c", code]
        told.add(subprocess.run(command, env=environment, cwd=ROOT, capture_output=True, check=True).stdout)
    assert len(told) == 1


def texts(group: ShapeGroup) -> list[str]:
    return [text.shown for text in group.texts]


def groups(report: Report, kind: str) -> dict[str, ShapeGroup]:
    return {group.words: group for group in pictures(report)[0].groups if group.kind == kind}


def test_roles_stand_from_the_top_down():
    top = {}
    for group in groups(sites.small(), "device").values():
        top[group.texts[0].shown] = group.boxes[0].y
    assert top["gw1"] < top["core1"] < top["access1"] < top["ap2"] == top["ap1"]


def test_a_stop_has_a_gap_with_a_cross_and_words():
    (link,) = [group for words, group in groups(sites.small(), "link").items() if "1/0/22" in words]
    upper, lower = (wire.points for wire in link.wires)
    (cross,) = link.signs
    assert cross.tone == "stops"
    assert upper[1][1] < cross.y < lower[0][1]
    assert "stops: 40" in texts(link)
    assert "10,40,99" in texts(link)


def test_a_leak_is_dashed_and_what_is_unverified_dotted_with_words():
    links = groups(sites.small(), "link")
    (leak,) = [group for words, group in links.items() if "1/0/21" in words]
    (unread,) = [group for words, group in links.items() if "ap2" in words]
    assert ([wire.kind for wire in leak.wires], [sign.tone for sign in leak.signs]) == (["leaks"], ["leaks"])
    assert "leaks: 20" in texts(leak)
    assert ([wire.kind for wire in unread.wires], [s.tone for s in unread.signs]) == (["unverified"], ["unverified"])
    assert "unverified" in texts(unread)
    css = (ROOT / "templates" / "reports" / "picture.css").read_text()
    dashes = re.findall(r"\.wire\.(\w+) [^}]*stroke-dasharray: ([\d ]+)", css)
    assert {kind for kind, _ in dashes} == {"leaks", "unverified"}
    assert len({dash for _, dash in dashes}) == 2


def test_wifi_names_stand_in_their_device_with_state_and_vlan():
    (point,) = [group for words, group in groups(sites.small(), "device").items() if words.startswith("ap1")]
    assert texts(point) == ["ap1", "ap · conforming", "10", "Quarry Staff", "40", "Quarry Guest"]
    assert [sign.tone for sign in point.signs] == ["good", "good", "stops"]


def test_the_words_say_what_the_picture_says():
    for svg in drawn(sites.small()):
        told = svg.findtext(f"{SVG}desc") or ""
        assert "Wi-Fi Quarry Guest (VLAN 40) broken" in told
        assert "core1 GigabitEthernet1/0/22 \N{EN DASH} ap1 lan1: VLANs 10,40,99; stops: 40" in told
        assert "ap2, ap · not captured" in told
        assert svg.get("role") == "img"
        named = {element.get("id") for element in svg}
        assert set((svg.get("aria-labelledby") or "").split()) <= named


def test_a_link_beyond_the_tree_is_told_by_both_its_devices():
    ring = [("gw", "a"), ("gw", "b"), ("a", "b")]
    links = [sites.link(f"{one} p{one}", f"{other} p{other}") for one, other in ring]
    devices = [sites.device("gw", "gateway"), sites.device("a", "access"), sites.device("b", "access")]
    shown = groups(sites.report(devices, Services(links=links)), "device").values()
    assert [line for group in shown for line in texts(group) if line.startswith("also")] == [
        "also b: 10,20,40,99",
        "also a: 10,20,40,99",
    ]


def test_a_plan_without_links_says_so_and_draws_rows():
    page = FORMAT.render(view_of(sites.unlinked())).decode()
    assert "The plan names no links, so none are drawn." in page
    wide = pictures(sites.unlinked())[0]
    assert {group.kind for group in wide.groups} == {"device"}
    assert len({group.boxes[0].y for group in wide.groups}) == 3


def test_a_long_name_is_shortened_and_kept_whole_in_a_title():
    for svg in drawn(sites.large()):
        shown = [text for text in svg.iter(f"{SVG}text") if (text.text or "").startswith("Hillside Vis")]
        assert shown
        assert all((text.text or "").endswith("…") for text in shown)
        assert {text.findtext(f"{SVG}title") for text in shown} == {"Hillside Visitors and Parents"}


@given(st.text(max_size=60), st.integers(20, 400))
def test_a_fitted_text_fits_and_loses_no_more_than_it_must(text: str, width: int):
    shown = fitted(text, width)
    assert text_width(shown) <= width
    assert shown == text or text.startswith(shown[:-1])
    assert shown == text or text_width(text) > width


def test_common_monospaced_fonts_are_no_wider_than_supposed():
    """Advance of a letter over the em, out of the fonts' own tables, from memory."""
    advances = {"DejaVu Sans Mono": 1233 / 2048, "Liberation Mono": 1229 / 2048, "Consolas": 1126 / 2048}
    assert max(advances.values()) <= ADVANCE


# Colours

OKABE_ITO = {"#d55e00", "#0072b2", "#56b4e9", "#009e73", "#f0e442"}
"""Vermilion, blue, sky blue, bluish green, yellow. Okabe and Ito, Color Universal Design (2008); from memory."""


def luminance(colour: str) -> float:
    """Return relative luminance as WCAG 2.1 defines it."""
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of WCAG 2.1, SC 1.4.3."""
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def schemes() -> dict[str, dict[str, str]]:
    css = (ROOT / "templates" / "reports" / "report.css").read_text()
    light, dark = (
        dict(re.findall(r"--(\w+): (#\w{6})", block)) for block in re.findall(r":root \{(.*?)\}", css, re.DOTALL)
    )
    return {"light": light, "dark": {**light, **dark}}


def test_the_formula_is_that_of_the_standard():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)  # WCAG 2.1: ratios run from 1 to 21
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.01)  # common knowledge: the grey that just fails


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_stands_out_from_its_background(scheme: str):
    colours = schemes()[scheme]
    css = (ROOT / "templates" / "reports" / "picture.css").read_text()
    used = set(re.findall(r"(?:fill|stroke|color): var\(--(\w+)\)", css)) - {"paper", "soft", "line"}
    assert {"ink", "dim", "exposure", "outage", "mark", "good"} == used
    for name in used:
        for background in ("paper", "soft"):
            assert contrast(colours[name], colours[background]) >= 4.5, (name, background)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_colours_of_states_have_hues_that_the_colour_blind_tell_apart(scheme: str):
    for name in ("exposure", "outage", "good", "mark"):
        away = min(abs(hue(schemes()[scheme][name]) - hue(known)) for known in OKABE_ITO)
        assert away <= 10, name


def hue(colour: str) -> float:
    red, green, blue = (int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5))
    return colorsys.rgb_to_hls(red, green, blue)[0] * 360
