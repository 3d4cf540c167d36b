"""A plan kept as a spreadsheet is the same plan; a broken one is told with sheet and row."""

from __future__ import annotations

import contextlib
import io
import random
import re
import warnings
import zipfile
from datetime import date, datetime
from typing import Any

import pytest
import yaml

from auditor import load_plan
from auditor.errors import PlanError
from auditor.plan.loader import parse
from tests.plan.books import sheets_of, workbook
from tests.plan.example import PLAN

MORE = """
format: 1
site: Mill Lane Tea Room
defaults: {gateway: sw1, unlisted_ports: {access: shop}, domain: mill.example}
subnets:
  shop:
    vlan: 10
    prefix: 10.20.10.0/24
    terminals: 40
    gateway: {on: sw1, address: 10.20.10.2, shared: 10.20.10.1}
    dhcp:
      pool: [10.20.10.20-10.20.10.29, 10.20.10.40-10.20.10.49]
      lease: 3600
      dns: [10.0.0.2, 10.0.0.1]
      options: {42: 10.0.0.1, 66: tftp.mill.example}
      reservations: {10.20.10.25: 00:00:5e:00:53:25}
  phones: {vlan: 30, prefix: 10.20.30.0/24, dhcp: {relay: [10.0.0.5, 10.0.0.6]}}
wifi:
  Tea Room: {subnet: shop, security: open, bands: [2.4, 5], hidden: true, on: [sw1]}
  Till 5: {subnet: shop, security: open, bands: [5], on: [sw1]}
devices:
  sw1:
    role: core
    platform: cisco_ios
    hostname: tea-sw1
    unlisted_ports: disabled
    management: {ntp: [10.0.0.9], snmp: false, logins: [ssh, https]}
    ports:
      Gi1/0/1-4: {access: shop, voice: phones}
      Gi1/0/5: {trunk: all, native: shop, description: "17"}
      Gi1/0/6: {uplink: {static: 203.0.113.2/30}}
      Gi1/0/7: {off: true}
      "Gi1/0/8,10": {ignore: true}
deviations:
  - {device: sw1, setting: vlans.40, reason: the fair, approved_by: owner, ticket: 4711, until: 2027-05-01}
"""
Rows = list[list[Any]]
HEAD: Rows = [["key", "value"], ["format", 1], ["site", "Mill Lane Bakery"]]
SUBNETS: Rows = [["name", "vlan", "prefix"], ["shop", 10, "10.20.10.0/24"], ["guest", 40, "10.20.40.0/24"]]
DEVICES: Rows = [["name", "role", "platform"], ["sw1", "core", "cisco_ios"]]
PORTS: Rows = [["device", "port", "access"], ["sw1", "Gi1/0/1", "shop"]]
BASE = {"plan": HEAD, "subnets": SUBNETS, "devices": DEVICES, "ports": PORTS}


def read(**sheets):
    return parse("plan.xlsx", workbook({**BASE, **sheets}))


def problems_of(**sheets):
    with pytest.raises(PlanError) as caught:
        read(**sheets)
    return [(p.sheet, p.line, p.key) for p in caught.value.problems]


@pytest.mark.parametrize("text", [PLAN, MORE], ids=["bakery", "tea-room"])
@pytest.mark.parametrize("typed", [False, True], ids=["text", "typed"])
def test_the_same_plan_is_the_same_data(text, typed, tmp_path):
    path = tmp_path / "plan.xlsx"
    quoted = re.sub(r"(?<!\w)(on|off):", r"'\1':", text)
    path.write_bytes(workbook(sheets_of(yaml.safe_load(quoted), typed)))
    book, plan = load_plan(path), parse("plan.yaml", text.encode())
    assert book.data == plan.data
    assert book.ports == plan.ports


@pytest.mark.parametrize(
    ("head", "value", "meant"),
    [
        ("description", 17, "17"),
        ("description", 17.0, "17"),
        ("description", "17", "17"),
        ("description", True, "true"),
    ],
)
def test_a_number_in_a_column_of_text_is_the_text_that_was_typed(head, value, meant):
    plan = read(ports=[[*PORTS[0], head], [*PORTS[1], value]])
    assert plan.ports["sw1"]["GigabitEthernet1/0/1"].description == meant


@pytest.mark.parametrize("value", [date(2027, 3, 31), datetime(2027, 3, 31), "2027-03-31"])  # noqa: DTZ001 - as cells are
def test_a_day_is_a_day_whatever_its_cell(value):
    heads = ["device", "setting", "reason", "approved_by", "until"]
    plan = read(deviations=[heads, ["sw1", "hostname", "the fair", "owner", value]])
    assert plan.data.deviations[0].until == date(2027, 3, 31)


def test_sheets_are_found_whatever_their_case_and_empty_rows_are_passed_over():
    plan = parse("PLAN.XLSX", workbook({"Plan": HEAD, " Subnets ": [[], *SUBNETS[:2], [None, None, ""], SUBNETS[2]]}))
    assert list(plan.data.subnets) == ["shop", "guest"]


@pytest.mark.parametrize(
    ("sheets", "problems"),
    [
        ({"subnets": [*SUBNETS, ["oven", 5000, "10.20.50.0/24"]]}, [("subnets", 4, "subnets.oven.vlan")]),
        ({"subnets": [*SUBNETS, ["shop", 20, "10.20.20.0/24"]]}, [("subnets", 4, "subnets.shop")]),
        ({"subnets": [*SUBNETS, [None, 20, "10.20.20.0/24"]]}, [("subnets", 4, "subnets.")]),
        ({"subnets": [[*SUBNETS[0], "colour"], [*SUBNETS[1], "red"]]}, [("subnets", 2, "subnets.shop.colour")]),
        ({"ports": [*PORTS, ["sw1", "Gi1/0/1", "guest"]]}, [("ports", 3, "devices.sw1.ports.Gi1/0/1")]),
        ({"ports": [*PORTS, ["sw1", "Gi1/0/2", "gest"]]}, [("ports", 3, "devices.sw1.ports.Gi1/0/2.access")]),
        ({"ports": [*PORTS, ["sw1", None, "guest"]]}, [("ports", 3, "devices.sw1.ports.")]),
        ({"links": [["from", "to"], ["sw1 Gi1/0/1", "sw2 Gi1/0/1"]]}, [("links", 2, "links.0.1")]),
        ({"links": [["from", "to"], ["sw1 Gi1/0/1"]]}, [("links", 2, "links.0")]),
        ({"notes": [["what"], ["buy flour"]]}, [("notes", 1, "")]),
        ({"plan": [*HEAD, ["defaults.gateway", "gw1"]]}, [("plan", 4, "defaults.gateway")]),
        ({"plan": [*HEAD, ["colour", "red"]]}, [("plan", 4, "colour")]),
    ],
)  # fmt: skip
def test_errors_name_sheet_and_row(sheets, problems):
    assert problems_of(**sheets) == problems


@pytest.mark.parametrize(
    ("sheets", "place"),
    [
        ({"plan": [*HEAD, ["site", "Mill Lane Tea Room"]]}, ("plan", 4)),
        ({"subnets": [[*SUBNETS[0], "vlan"], [*SUBNETS[1], 20]]}, ("subnets", 1)),
        ({"subnets": [SUBNETS[0], [*SUBNETS[1], "isolated"]]}, ("subnets", 2)),
        ({"links": [["from", "to", "via"], ["sw1 Gi1/0/1", "sw1 Gi1/0/1", "sw1 Gi1/0/1"]]}, ("links", 2)),
        ({"subnets": [[*SUBNETS[0], "dhcp", "dhcp.relay"], [*SUBNETS[1], "none", "10.0.0.5"]]}, ("subnets", 2)),
        ({"subnets": [[*SUBNETS[0], "dhcp.relay", "dhcp"], [*SUBNETS[1], "10.0.0.5", "none"]]}, ("subnets", 2)),
    ],
)
def test_a_value_that_the_plan_would_lose_is_told(sheets, place):
    """The same key twice, two columns of one name, a cell without a heading: one value would be lost in silence."""
    assert place in [(sheet, row) for sheet, row, _ in problems_of(**sheets)]


def test_a_device_that_only_the_ports_know_is_told_where_they_stand():
    places = [(sheet, row) for sheet, row, _ in problems_of(ports=[*PORTS, ["sw9", "Gi1/0/1", "guest"]])]
    assert set(places) == {("ports", 3)}


@pytest.mark.parametrize(
    "sheets",
    [
        {"plan": [*HEAD, ["site.name", "Mill Lane"]]},
        {"plan": [*HEAD, ["defaults", "gw1"], ["defaults.dns", "10.0.0.1"]]},
        {"plan": [*HEAD, ["subnets", "none"]]},
        {"plan": [*HEAD, ["devices", "none"]]},
        {"plan": [*HEAD, ["devices.sw1", "none"]]},
        {"plan": [*HEAD, ["devices.sw1.ports", "none"]]},
        {"plan": [*HEAD, ["links", "none"]], "links": [["from", "to"], ["sw1 Gi1/0/1", "sw1 Gi1/0/1"]]},
        {"plan": [*HEAD, ["", "none"], ["...", "none"], [None, None]]},
        {"plan": [["what", "which"], ["format", 1]]},
        {"subnets": [["name", "vlan", "vlan.id"], ["shop", 10, 20]]},
        {"devices": [["name", "ports"], ["sw1", "none"]]},
        {"wifi": [["ssid"], ["{a: b}"]], "subnets": [["name"], ["[a]"]]},
    ],
)
def test_a_muddled_workbook_is_an_error_and_no_crash(sheets):
    with pytest.raises(PlanError):
        read(**sheets)


def test_a_passphrase_in_a_cell_is_refused_and_not_shown():
    heads = ["ssid", "subnet", "security", "on", "passphrase"]
    with pytest.raises(PlanError) as caught:
        read(wifi=[heads, ["Mill Guest", "guest", "wpa2-personal", "sw1", "sourdough-at-dawn"]])
    assert "must not stand in the plan" in str(caught.value)
    assert "sourdough" not in str(caught.value)


@pytest.mark.parametrize(
    "data", [b"", b"PK", b"format: 1\nsite: x\n", b"\xd0\xcf\x11\xe0" * 200, b"PK\x05\x06" + b"\0" * 18]
)
def test_what_is_no_workbook_is_told(data):
    with pytest.raises(PlanError, match="not a valid workbook"):
        parse("plan.xlsx", data)


def repacked(change):
    """Return a workbook with its parts changed, each by name."""
    stream = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(workbook(BASE))) as old, zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            new.writestr(name, change(name, old.read(name)))
    return stream.getvalue()


PARTS = [
    "docProps/core.xml", "xl/worksheets/sheet1.xml", "xl/styles.xml", "xl/workbook.xml", "xl/_rels/workbook.xml.rels",
    "_rels/.rels", "[Content_Types].xml",
]  # fmt: skip


def plan_or_plan_error(data):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        with contextlib.suppress(PlanError):
            parse("plan.xlsx", data)


@pytest.mark.parametrize("damage", [b"", b"<a", b"<a/>", b"\xff\xfe\x00", b"<!DOCTYPE a [<!ENTITY b 'c'>]><a>&b;</a>"])
def test_a_damaged_part_is_an_error_and_no_crash(damage):
    for part in PARTS:
        plan_or_plan_error(repacked(lambda name, data, part=part: damage if name == part else data))


def test_flipped_bytes_are_an_error_and_no_crash():
    chance, good = random.Random(20261125), workbook(BASE)
    for _ in range(150):
        data = bytearray(good)
        for _ in range(chance.choice([1, 3, 20])):
            data[chance.randrange(len(data))] = chance.randrange(256)
        plan_or_plan_error(bytes(data))


def test_a_workbook_that_unpacks_to_more_than_any_plan_is_refused():
    huge = repacked(lambda name, data: data + b" " * (40 << 20) if name == "xl/styles.xml" else data)
    assert len(huge) < 1 << 20
    with pytest.raises(PlanError, match="larger than any plan"):
        parse("plan.xlsx", huge)
