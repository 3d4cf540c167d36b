"""Service paths in words: what fares alike is one row, what is wrong comes first, and every format tells it."""

from __future__ import annotations

import io

import pytest
from markdown_it import MarkdownIt
from rich.console import Console

from auditor.core.report import Report
from auditor.core.service import Fault, Leak, Separation, Services
from auditor.reports import html, markdown
from auditor.reports.service_view import LAYER_NOTE, Serving, serving_of
from auditor.reports.terminal import show
from auditor.reports.view import view_of
from tests.reports import sites

SMALL = serving_of(sites.small().services)


def rendered(report: Report) -> dict[str, str]:
    return {form.file: form.render(view_of(report)).decode() for form in (html.FORMAT, markdown.FORMAT)}


def test_what_is_wrong_comes_first():
    assert [row.state for row in SMALL.rows] == ["broken"] * 2 + ["unverified"] * 2 + ["reached"] * 4
    assert SMALL.rows[0].service == "Wi-Fi Quarry Guest"
    assert SMALL.rows[0].broken == ["core1 GigabitEthernet1/0/22 does not carry VLAN 40"]


def test_every_state_has_a_sign_and_a_word():
    cells = {(cell.sign, cell.words) for row in SMALL.rows for _, cell in row.cells}
    assert {
        ("✓", "reached"), ("✕", "broken"), ("?", "unverified"), ("✓", "gw1 reached"), ("✕", "gw1 not reached"),
        ("\N{EN DASH}", "not routed"), ("✕", "not reached"), ("✕", "not as planned"), ("\N{EN DASH}", "none planned"),
        ("✓", "separate"), ("▲", "shares with imaging"),
    } <= cells  # fmt: skip


def test_paths_that_fare_alike_are_one_row_with_ranges_of_ports():
    (row,) = [row for row in SMALL.rows if row.service == "Ports" and row.subnet == "staff (VLAN 10)"]
    assert row.where == "core1 GigabitEthernet1/0/1-12; access1 GigabitEthernet0/1-5, uplink-a"


def test_the_same_wifi_name_in_different_states_is_not_one_row():
    assert [row.where for row in SMALL.rows if row.service == "Wi-Fi Quarry Staff"] == ["ap2", "ap1"]


@pytest.mark.parametrize(
    ("fares", "gateway", "dhcp"),
    [
        ({"way": "broken"}, ("broken", "gw1 not reached"), ("broken", "not reached")),
        ({"way": "reached", "gateway": "broken", "dhcp": "reached"}, ("broken", "gw1 has not the planned address"),
         ("reached", "leases addresses")),
        ({"way": "reached", "gateway": "unverified", "dhcp": "broken"}, ("unverified", "gw1 unverified"),
         ("broken", "not as planned")),
        ({"way": "unverified", "gateway": "reached", "dhcp": "reached"}, ("unverified", "gw1 unverified"),
         ("unverified", "unverified")),
        ({"way": "broken", "gateway": None, "dhcp": None, "gateway_device": None}, ("broken", "not reached"),
         ("none", "none planned")),
    ],
)  # fmt: skip
def test_the_way_there_counts_for_what_is_at_its_end(fares, gateway, dhcp):
    (row,) = serving_of(Services(paths=[sites.path("device", "sw1", sites.STAFF, state="broken", **fares)])).rows
    assert (row.gateway.state, row.gateway.words) == gateway
    assert (row.dhcp.state, row.dhcp.words) == dhcp


def test_the_summary_counts_each_port_and_each_wifi_name_of_a_device():
    assert SMALL.summary == (
        "service paths: 23 reached, 2 broken, 2 unverified; not apart: imaging, guest; "
        "unverified whether apart: management; leaking: imaging"
    )


def test_leaks_say_where_and_through_what():
    ports, wifi = SMALL.leaks
    where, through = ports.split(", let through by ")
    assert where == "imaging (VLAN 20) comes out at access1 GigabitEthernet0/3-4"
    assert through == "access1 ports.GigabitEthernet0/8.tagged"
    assert wifi == "imaging (VLAN 20) comes out at ap2 Wi-Fi Quarry Guest"
    assert serving_of(Services(leaks=[Leak(subnet="a", vlan=7, kind="device", device="sw1")])).leaks == [
        "a (VLAN 7) comes out at sw1"
    ]


def test_what_is_not_apart_says_with_whom_and_whether_it_should_be():
    assert "guest (VLAN 40) shares a broadcast domain with imaging, and should be isolated" in SMALL.mixed
    assert "management (VLAN 99): unverified whether it is apart from the others" in SMALL.mixed
    assert not any("staff" in text for text in SMALL.mixed)


def test_a_site_of_a_thousand_ports_is_a_few_rows():
    names = [[f"Gi1/0/{port}" for port in range(1, 49)] for _ in range(21)]
    paths = [sites.path("port", f"sw{number}", sites.STAFF, *ports) for number, ports in enumerate(names)]
    odd = sites.path("port", "sw3", sites.STAFF, "Gi2/0/1", state="broken", faults=[Fault(device="sw3", why="is off")])
    rows = serving_of(Services(paths=[*paths, odd])).rows
    assert [row.state for row in rows] == ["broken", "reached"]
    assert rows[1].where.startswith("sw0 Gi1/0/1-48; sw1 Gi1/0/1-48; ")


def test_nothing_served_says_nothing():
    assert serving_of(Services()) == Serving()
    for text in rendered(sites.unlinked()).values():
        assert "Service paths" not in text


def test_the_page_and_the_ticket_tell_it():
    files = rendered(sites.small())
    page, ticket = files["report.html"], MarkdownIt("gfm-like", {"linkify": False}).render(files["report.md"])
    for shown in (page, ticket):
        for text in (*SMALL.rows[0].broken, *SMALL.leaks, *SMALL.mixed, LAYER_NOTE, SMALL.summary[1:]):
            assert text in shown
    assert ticket.count("<tr>") == 1 + 5 + 1 + 5  # devices; what is broken, unverified or perhaps not apart
    assert (
        "✓ reached: Wi-Fi Quarry Staff in staff (VLAN 10); Ports in staff (VLAN 10); Ports in plant (VLAN 50)" in ticket
    )


def test_the_terminal_tells_it_in_one_line():
    stream = io.StringIO()
    show(view_of(sites.small()), Console(file=stream, soft_wrap=True))
    assert [line for line in stream.getvalue().splitlines() if "service paths" in line] == [SMALL.summary]


def test_hostile_text_stays_text():
    bad = "<b>\x1b[31m|\u202e"
    fault = [Fault(device="sw1", place=bad, why=bad)]
    services = Services(
        paths=[sites.path("wifi", "sw1", (bad, 10), bad, state="broken", faults=fault)],
        leaks=[Leak(subnet=bad, vlan=10, kind="port", device="sw1", place=bad, at=[("sw1", bad)])],
        separated=[Separation(subnet=bad, vlan=10, isolated=True, state="shared", shared_with=[bad])],
    )
    files = rendered(sites.report([sites.device("sw1", "access")], services))
    for name in ("report.html", "report.md"):
        assert not {"\x1b", "\u202e"} & set(files[name])
        assert "<b>" not in files[name]
    assert MarkdownIt("gfm-like", {"linkify": False}).render(files["report.md"]).count("<td>") == 4 + 7
