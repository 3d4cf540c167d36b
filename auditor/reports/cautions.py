"""The usual cautions: what to mind before anything is changed."""

from __future__ import annotations

from auditor.core.report import Report

CAUTIONS = {
    "cut": (
        "A change to a trunk, a native VLAN, a gateway or the management VLAN can cut off the site, or you from the "
        "device. Have a way in that does not need the network, agree a time with those who depend on it, and "
        "keep the running configuration before you change it."
    ),
    "open": (
        "While a network is open to people who should not reach it, treat everything in it as reachable by them: close "
        "it first, then check who used it. What must be reported, and to whom, is decided by local law and the person "
        "responsible for the site's data."
    ),
    "local": (
        "Work on equipment and cabling follows local codes; where they require a licensed person, leave it to one. "
        "This report changes nothing on any device."
    ),
}


def cautions_of(report: Report) -> list[str]:
    """Return the usual cautions that apply to a report, and what holds for all of its proposals."""
    counted = [finding for finding in report.findings if finding.counts]
    found = []
    if any(finding.area in ("vlans", "ports", "gateways", "uplinks", "dhcp") for finding in counted):
        found.append(CAUTIONS["cut"])
    if any(finding.consequence == "exposure" for finding in counted):
        found.append(CAUTIONS["open"])
    return [*found, *_always(report), CAUTIONS["local"]] if found else []


def _always(report: Report) -> list[str]:
    """Return what holds for every proposal, said once; what a dialect has of its own, with the devices that have it."""
    proposed: dict[str, list[str]] = {}
    for finding in report.findings:
        for text in finding.proposed.always if finding.proposed else ():
            proposed.setdefault(text, []).append(finding.device)
    concerned = {device for names in proposed.values() for device in names}
    order = [device.name for device in report.devices if device.name in concerned]
    return [
        text if set(names) == concerned else f"{', '.join(sorted(set(names), key=order.index))}: {text}"
        for text, names in proposed.items()
    ]
