"""A report with everything that there can be in one, and hostile text to plant in it."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from functools import cache
from typing import Any

from auditor.core.days import Days
from auditor.core.report import Approval, BearingLine, Correction, Report, Unverified
from auditor.core.service import Fault, Leak, ServicePath
from auditor.core.state import Setting
from auditor.plan.loader import parse
from auditor.reports.view import View, view_of
from tests.compare.site import TODAY, conforming, edited, plan_text

QUARRY = "quarry-road"
CORE = "core1/show_running-config.txt"
BRIEF = "core1/show_vlan_brief.txt"
HOSTILE = "x <script>alert(1)</script> | `a` **b** @all [c](http://d.example) =1+1 \x1b[31mred\u202e\u200b"
EXPIRED = "2026-01-31"
CAPTURED = {
    "gw1": Days(stated=TODAY - timedelta(days=3)),
    "core1": Days(file=TODAY - timedelta(days=41)),
    "ap1": Days(text=TODAY - timedelta(days=1)),
    "ap2": Days(record=TODAY),
}
"""A day by each source; one is older than allowed."""
DEVIATIONS = f"""
  - {{device: core1, setting: ports.GigabitEthernet1/0/16.enabled, observed: true, reason: loan of a printer,
     approved_by: front desk, until: {EXPIRED}}}
  - {{device: gw1, setting: dhcp.10.40.10.0/24.lease_seconds, observed: 60, reason: trial, approved_by: site owner,
     until: 2099-12-31}}
"""


@cache
def every_outcome() -> Report:
    """Return a report with everything that there can be in one."""
    plan = parse("plan.yaml", (plan_text(QUARRY).rstrip() + DEVIATIONS).encode())
    site = replace(conforming(QUARRY), plan=plan)
    core = site.text(CORE)
    for old, new, below in (
        ("description x-ray", f"description {HOSTILE}", ""),
        ("switchport access vlan 10", "switchport access vlan 20", "interface GigabitEthernet1/0/7"),
        (" shutdown\n", "", "interface GigabitEthernet1/0/16"),
        (" switchport", f" frobnicate {HOSTILE}\n switchport", "interface GigabitEthernet1/0/12"),
    ):
        core = edited(core, old, new, below=below)
    gateway = edited(site.text("gw1.rsc"), "address=10.40.40.1/24", "address=10.40.40.9/24")
    gateway = edited(gateway, "add address=10.40.50.1/27 interface=vlan50-payment network=10.40.50.0\n", "")
    brief = edited(site.text(BRIEF), "50   payment ", "44   a<b>cab   active\n50   payment ")
    site = site.having(CORE, core).having("gw1.rsc", gateway).having(BRIEF, brief)
    site = site.having("ap2/network", "bash: uci: not found\n")
    site = replace(site, days=CAPTURED)
    site = site.without(*site.files_of("access1"), *(name for name in site.files_of("ap2") if name != "ap2/network"))
    return _with_bearing_lines(site.report(occasion="acceptance"))


def _with_bearing_lines(report: Report) -> Report:
    """Return the report with a limit, and with an overriding line that is accepted, on one of its devices."""
    core = next(device for device in report.devices if device.name == "core1")
    quoted = {"file": core.captures[0].file, "line": 7}
    limit = BearingLine(
        **quoted, text="switchport port-security", why="only known addresses pass", bears_on=["ports.x"]
    )
    override = BearingLine(
        **quoted, text="dot1x guest-vlan 7", why="the VLAN is given at login; look at it on the device"
    )
    accepted = Unverified(
        device="core1",
        setting=Setting("ports", "GigabitEthernet1/0/11", "untagged"),
        why=override.why,
        cause="overriding",
        lines=[override.text],
        approved=Approval(
            reason="the guests' printer", approved_by="site owner", ticket="", until=date(2099, 12, 31), expired=False
        ),
    )
    devices = [
        core.model_copy(update={"limits": [limit], "overriding": [override]}) if device is core else device
        for device in report.devices
    ]
    return report.model_copy(update={"devices": devices, "unverified": [*report.unverified, accepted]})


@cache
def whole_view() -> View:
    """Return the view of that report."""
    return view_of(every_outcome())


SIGNS = {
    "markup": "</title></pre><script>alert(1)</script><img src=x onerror=alert(2)>&lt;",
    "escapes": "\x1b[31mred\x1b]8;;http://d.example\x07link\x1b]8;;\x07\x9b2J\r\b",
    "directions": "user\u202etxt.exe\u2066\u200b\ufeff\u2028\u00ad",
    "markdown": "[c](http://d.example) ![i](x) **b** `a` ``` | a |\n# head\n- @all $x$ ~~s~~ {0} {{1}}",
    "formula": '=HYPERLINK("http://d.example";"x")',
    "formula after blanks": "   \t@SUM(1+1)*cmd|' /C calc'!A0",
    "minus": "-5+cmd|' /C calc'!A0",
    "no characters": "a\x00b\ufffe\uffff\U0001fffe_x000A_]]>",
    "long": "w" * 10_000,
}
"""Text that would do harm where a format took it for its own: by what it is."""


def planted(text: str) -> Report:
    """Return a report in which a device and a plan say a text wherever they can say anything."""
    report = every_outcome()
    told: dict[str, Any] = {
        "setting": f"ssids.{text}.vlan",
        "effect": text,
        "observed": text,
        "expected": [text, {"a": text}],
    }
    told |= {"correction": Correction(by_hand=text)}
    first, *others = report.findings
    line = report.devices[1].not_understood[0].model_copy(update={"file": text, "text": text})
    bearing = BearingLine(file=text, line=1, text=text, why=text, bears_on=[text])
    finding = first.model_copy(update={**told, "evidence": [line]})
    device = report.devices[1].model_copy(
        update={"not_understood": [line], "reason": text, "notes": [text], "platform": "cisco_ios", "limits": [bearing]}
    )
    capture = device.captures[0].model_copy(update={"file": text})
    device = device.model_copy(update={"captures": [capture]})
    fault = Fault(device="core1", place=text, why=text)
    fares = {"state": "broken", "way": "broken", "gateway_device": "gw1"}
    path = ServicePath.model_validate(
        {"kind": "wifi", "device": "ap1", "places": [text], "subnet": text, "vlan": 7, "prefix": "10.0.0.0/24", **fares}
    )
    leak = Leak(subnet=text, vlan=7, kind="port", device="core1", place=text)
    services = report.services.model_copy(
        update={"paths": [path.model_copy(update={"faults": [fault]})], "leaks": [leak], "separated": []}
    )
    unverified = report.unverified[0].model_copy(update={"setting": f"vlans.{text}", "why": text})
    return report.model_copy(
        update={
            "site": text,
            "reference": text,
            "plan": report.plan.model_copy(update={"file": text}),
            "devices": [report.devices[0], device, *report.devices[2:]],
            "findings": [finding, *others],
            "unverified": [unverified, *report.unverified[1:]],
            "services": services,
        }
    )


def captured(text: str) -> Report:
    """Return the audit of a clinic whose devices say a text: as hostname, description, VLAN, Wi-Fi and file name."""
    site = conforming(QUARRY)
    line = " ".join(text.split())
    core = edited(site.text(CORE), "hostname core1", f"hostname {line}")
    core = edited(core, "description x-ray", f"description {line}")
    brief = edited(site.text(BRIEF), "50   payment ", f"44   {line.replace(' ', '_')}   active\n50   payment ")
    aired = f"config wifi-iface 'extra'\n\toption device 'radio0'\n\toption mode 'ap'\n\toption ssid \"{line}\"\n"
    site = site.having(CORE, core).having(BRIEF, brief).having("ap1/wireless", site.text("ap1/wireless") + aired)
    return site.having(f"ap1/{text.replace('/', '_')}", f"{text}\n").report()
