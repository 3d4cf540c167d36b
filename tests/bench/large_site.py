"""Judging and drawing a large site beside reading it: ``python tests/bench/large_site.py``.

40 devices and 1,000 access ports: a gateway, a core switch, 25 access switches of 40 ports and 13 access points, with
a few drifts. Milliseconds, the best of some rounds, and each as a ratio to the time of reading the captures.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from functools import partial
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))

import yaml

from auditor.app.auditing import audit
from auditor.areas import Expected, Reading, expected_of, read
from auditor.capture.interface import Captured
from auditor.compare.judge import judge
from auditor.core.report import Report
from auditor.network import KnownDevice, services_of
from auditor.plan.loader import Plan, parse
from auditor.platforms.render import render
from auditor.reading.dialect import dialect
from auditor.reading.source import CaptureFile
from auditor.reports import FORMATS
from auditor.reports.interface import Format
from auditor.reports.view import view_of
from tests.bench.platforms import quickest

SWITCHES, PORTS, POINTS = 25, 40, 13
NETS = {
    "staff": 10,
    "imaging": 20,
    "phones": 30,
    "guest": 40,
    "payment": 50,
    "cameras": 60,
    "doors": 70,
    "management": 99,
}
ALL = list(NETS)
TODAY = date(2026, 11, 25)


def plan() -> Plan:
    """Return the plan."""
    devices: dict[str, Any] = {
        "gw1": device("gateway", "mikrotik_routeros", 1, {"ether1": {"uplink": "dhcp"}, "ether2": {"trunk": ALL}}),
        "core1": device("core", "cisco_ios", 2, {"TenGigabitEthernet1/0/1": {"trunk": ALL}}),
    }
    links = [["gw1 ether2", "core1 TenGigabitEthernet1/0/1"]]
    for number in range(1, SWITCHES + 1):
        port = f"GigabitEthernet1/0/{number}"
        devices["core1"]["ports"][port] = {"trunk": ALL}
        ports: dict[str, Any] = {
            f"GigabitEthernet1/0/{n}": {"access": ALL[n % 6]} | ({"voice": "phones"} if n % 6 == 0 else {})
            for n in range(1, PORTS + 1)
        }
        ports["GigabitEthernet1/0/48"] = {"trunk": ALL}
        devices[f"sw{number}"] = device("access", "cisco_ios", 10 + number, ports)
        links.append([f"core1 {port}", f"sw{number} GigabitEthernet1/0/48"])
    points = [f"ap{number}" for number in range(1, POINTS + 1)]
    for number, name in enumerate(points, 1):
        trunk = {"trunk": ["staff", "guest"], "native": "management"}
        devices[f"sw{number}"]["ports"]["GigabitEthernet1/0/47"] = trunk
        devices[name] = device("ap", "openwrt", 100 + number, {"lan1": trunk})
        links.append([f"sw{number} GigabitEthernet1/0/47", f"{name} lan1"])
    wifi = {
        f"Large {net.title()}": {"subnet": net, "security": "wpa2-enterprise", "on": points}
        for net in ("staff", "guest")
    }
    subnets = {
        net: {"vlan": vid, "prefix": f"10.60.{vid}.0/24", "dhcp": {"pool": f"10.60.{vid}.150-10.60.{vid}.240"}}
        for net, vid in NETS.items()
    }
    whole = {
        "format": 1,
        "site": "A large site",
        "defaults": {"gateway": "gw1"},
        "subnets": subnets,
        "wifi": wifi,
        "devices": devices,
        "links": links,
    }
    return parse("plan.yaml", yaml.safe_dump(whole, sort_keys=False).encode())


def device(role: str, platform: str, host: int, ports: dict[str, Any]) -> dict[str, Any]:
    """Return a device of the plan."""
    return {"role": role, "platform": platform, "address": f"10.60.99.{host}", "ports": ports}


@dataclass(frozen=True)
class Captures:
    """Each device's configuration, as it was rendered, but for a few drifts."""

    files: dict[str, list[CaptureFile]]

    def capture(self, device: str) -> Captured:
        """Return a device's files."""
        return Captured(self.files[device])


def captures(expected: dict[str, Expected]) -> Captures:
    """Return captures that are nearly as planned."""
    texts = {name: render(e.platform, e.state, e.role) for name, e in expected.items()}
    trunk = "switchport trunk allowed vlan 10,20,30,40,50,60,70,99"
    assert trunk in texts["sw3"]
    texts["sw3"] = texts["sw3"].replace(trunk, trunk.replace("40,", ""))
    texts["sw9"] = texts["sw9"].replace("switchport access vlan 20", "switchport access vlan 10", 3)
    return Captures({name: [CaptureFile("running.cfg", text.encode())] for name, text in texts.items()})


def drawn(form: Format, report: Report) -> bytes:
    """Return a report in a format."""
    return form.render(view_of(report))


def main() -> None:
    """Measure and print."""
    site = plan()
    expected = expected_of(site)
    saved = captures(expected)
    readings: dict[str, Reading] = {}

    def reading() -> None:
        for template in (
            t for platform in {e.platform for e in expected.values()} for t in dialect(platform).templates
        ):
            template.forget()
        readings.update({name: read(e.platform, saved.files[name]) for name, e in expected.items()})

    def judging() -> dict[str, KnownDevice]:
        found = {}
        for name, each in expected.items():
            judgement = judge(each, readings[name], lambda _: True)
            assert judgement.pair
            found[name] = KnownDevice(judgement.pair.expected, judgement.pair.observed, frozenset(judgement.unverified))
        return found

    steps: dict[str, Callable[[], object]] = {
        "reading 40 captures (yardstick)": reading,
        "judging every setting": judging,
        "service paths, leaks, links": lambda: services_of(site, judged),
        "the whole audit": lambda: audit(site, saved, today=TODAY, max_age=None),
    }
    report: Report = audit(site, saved, today=TODAY, max_age=None)
    print(f"{len(report.devices)} devices, {report.counts.planned} settings, {len(report.findings)} findings")
    steps |= {f"drawing {form.file}": partial(drawn, form, report) for form in FORMATS}
    reading()
    judged = judging()
    yardstick = 0.0
    for name, step in steps.items():
        took = quickest(step)
        yardstick = yardstick or took
        print(f"{took:9.1f}  x {took / yardstick:5.2f}  {name}")


if __name__ == "__main__":
    main()
