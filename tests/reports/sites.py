"""Reports of made-up sites whose services are in every state, for tests of the formats."""

from __future__ import annotations

from datetime import date

from auditor.core.report import Counts, DeviceReport, PlanFileRef, Report
from auditor.core.service import Fault, Leak, LinkReport, Separation, ServicePath, Services

STAFF, IMAGING, GUEST, MANAGEMENT = ("staff", 10), ("imaging", 20), ("guest", 40), ("management", 99)
ALL = "10,20,40,99"


def device(name: str, role: str, verdict: str = "conforming", outcome: str = "audited") -> DeviceReport:
    return DeviceReport.model_validate(
        {"name": name, "platform": "cisco_ios", "role": role, "outcome": outcome, "verdict": verdict}
    )


def link(one: str, other: str, planned: str = ALL, state: str = "as planned", **wrong: str) -> LinkReport:
    """Return a link; its ends are written as in a plan, ``gw1 ether2``."""
    ends = tuple(tuple(end.split(" ", 1)) for end in (one, other))
    observed = None if state == "unverified" else planned
    return LinkReport.model_validate({"ends": ends, "planned": planned, "observed": observed, "state": state, **wrong})


def path(kind: str, name: str, subnet: tuple[str, int], *places: str, state: str = "reached", **more) -> ServicePath:
    """Return a path that is reached altogether, or not."""
    fares = {"state": state, "way": state, "gateway": state, "dhcp": state, "gateway_device": "gw1"}
    where = {"subnet": subnet[0], "vlan": subnet[1], "prefix": f"10.40.{subnet[1] % 256}.0/24"}
    return ServicePath.model_validate({"kind": kind, "device": name, "places": places, **where, **fares, **more})


def report(devices: list[DeviceReport], services: Services, site: str = "Mill Lane Surgery") -> Report:
    return Report(
        site=site,
        reference="MLS-01",
        occasion="routine",
        verdict="nonconforming",
        complete=True,
        plan=PlanFileRef(file="plan.yaml", sha256="0" * 64),
        counts=Counts(planned=10, conforming=9, nonconforming=1),
        devices=devices,
        findings=[],
        unverified=[],
        services=services,
        audited_on=date(2026, 1, 31),
        tool="auditor",
    )


def small() -> Report:
    """Return a clinic's site: one trunk stops a VLAN, one leaks one, one access point was not captured."""
    fault = Fault(device="core1", place="GigabitEthernet1/0/22", why="does not carry VLAN 40")
    unread = Fault(device="ap2", why="was not captured")
    pool = Fault(device="gw1", why="gives out no addresses of 10.40.20.0/24")
    ports = [f"GigabitEthernet1/0/{number}" for number in range(1, 13)]
    services = Services(
        paths=[
            path("wifi", "ap1", STAFF, "Quarry Staff"),
            path("wifi", "ap1", GUEST, "Quarry Guest", state="broken", gateway="reached", faults=[fault]),
            path("wifi", "ap2", STAFF, "Quarry Staff", state="unverified", faults=[unread]),
            path("wifi", "ap2", GUEST, "Quarry Guest", state="unverified", faults=[unread]),
            path("port", "core1", STAFF, *ports),
            path("port", "access1", STAFF, *(f"GigabitEthernet0/{number}" for number in range(1, 6)), "uplink-a"),
            path("port", "core1", IMAGING, "GigabitEthernet1/0/13", state="broken", way="reached", gateway="reached",
                 faults=[pool]),
            path("port", "core1", ("plant", 50), "GigabitEthernet1/0/14", gateway=None, dhcp=None, gateway_device=None),
            *(path("device", name, MANAGEMENT, dhcp=None) for name in ("core1", "access1", "ap1")),
        ],
        leaks=[
            Leak(subnet="imaging", vlan=20, kind="port", device="access1", place=f"GigabitEthernet0/{number}",
                 at=[("access1", "ports.GigabitEthernet0/8.tagged")])
            for number in (3, 4)
        ] + [Leak(subnet="imaging", vlan=20, kind="wifi", device="ap2", place="Quarry Guest")],
        separated=[
            Separation(subnet="staff", vlan=10, isolated=False, state="separated"),
            Separation(subnet="imaging", vlan=20, isolated=False, state="shared", shared_with=["guest"]),
            Separation(subnet="guest", vlan=40, isolated=True, state="shared", shared_with=["imaging"]),
            Separation(subnet="management", vlan=99, isolated=False, state="unverified"),
        ],
        links=[
            link("gw1 ether2", "core1 GigabitEthernet1/0/24"),
            link("core1 GigabitEthernet1/0/21", "access1 GigabitEthernet0/8", "10,40,99", "leaking", leaking="20"),
            link("core1 GigabitEthernet1/0/22", "ap1 lan1", "10,40,99", "stopped", stopped="40"),
            link("access1 GigabitEthernet0/7", "ap2 lan1", "10,40,99", "unverified"),
        ],
    )  # fmt: skip
    devices = [
        device("gw1", "gateway", "nonconforming"),
        device("core1", "core", "nonconforming"),
        device("access1", "access", "nonconforming"),
        device("ap1", "ap"),
        device("ap2", "ap", "incomplete", "not captured"),
    ]
    return report(devices, services)


def large(access: int = 13, points: int = 2) -> Report:
    """Return a school: a core with many access switches (of 24 ports each), each with access points; 41 devices."""
    devices = [device("gateway-main", "gateway"), device("core-main", "core")]
    links = [link("gateway-main ether2", "core-main GigabitEthernet1/0/48")]
    paths = []
    for number in range(1, access + 1):
        switch = f"access-{number:02}"
        wrong = {"state": "stopped", "stopped": "40"} if number == 3 else {}
        devices.append(device(switch, "access", "nonconforming" if number % 5 == 0 else "conforming"))
        ends = (f"core-main GigabitEthernet1/0/{number}", f"{switch} GigabitEthernet1/0/48")
        links.append(link(*ends, **wrong))
        paths.append(path("port", switch, STAFF, *(f"GigabitEthernet1/0/{port}" for port in range(1, 25))))
        for point in range(1, points + 1):
            name = f"ap-{number:02}-{point}"
            outcome = "not readable" if (number, point) == (7, 1) else "audited"
            devices.append(device(name, "ap", "conforming" if outcome == "audited" else "incomplete", outcome))
            uplink = (f"{switch} GigabitEthernet1/0/{40 + point}", f"{name} eth0")
            links.append(link(*uplink, "10,40,99", "as planned" if outcome == "audited" else "unverified"))
            fault = [Fault(device="core-main", place="GigabitEthernet1/0/3", why="does not carry VLAN 40")]
            unread = [Fault(device=name, why="could not be read")]
            for subnet, ssid in ((STAFF, "Hillside Staff"), (GUEST, "Hillside Visitors and Parents")):
                state = "broken" if number == 3 and subnet is GUEST else "reached"
                state = state if outcome == "audited" else "unverified"
                faults = {"broken": fault, "unverified": unread}.get(state, [])
                paths.append(path("wifi", name, subnet, ssid, state=state, faults=faults))
    separated = [Separation(subnet=name, vlan=vlan, isolated=False, state="separated") for name, vlan in (STAFF, GUEST)]
    return report(devices, Services(paths=paths, links=links, separated=separated), "Hillside School")


def unlinked() -> Report:
    """Return a site whose plan names no links."""
    return report([device("gw1", "gateway"), device("sw1", "access"), device("ap1", "ap")], Services())
