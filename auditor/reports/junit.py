"""report.junit.xml, for dashboards that show test results: a suite a device.

An area that has conforming settings is a test case that passed. A finding is one that failed; an approved one was
skipped, as was what is unverified, both with the reason. A device that was not audited, or not completely, is an error:
so the suites pass where the verdict is conforming, and nowhere else.
"""

from __future__ import annotations

from collections import Counter
from xml.etree import ElementTree as ET

from auditor.core.report import DeviceReport
from auditor.reports.dating import capture_days
from auditor.reports.interface import Format
from auditor.reports.sanitize import sanitize
from auditor.reports.view import FindingView, View

_OUTCOMES = {"failures": "failure", "errors": "error", "skipped": "skipped"}
"""The attributes of a suite, and the elements that they count."""


def _render(view: View) -> bytes:
    report = view.report
    root = ET.Element("testsuites", name=view.title)
    findings = [finding for group in view.groups for finding in group.findings]
    for device in view.devices:
        suite = ET.SubElement(root, "testsuite", name=device.name, timestamp=f"{report.audited_on}T00:00:00", time="0")
        _properties(suite, view, device)
        _areas(suite, device)
        for finding in findings:
            if finding.finding.device == device.name:
                _finding(suite, finding)
        _unknown(suite, view, device)
        _count(suite)
    if view.serving.rows:
        suite = ET.SubElement(root, "testsuite", name="service paths", time="0")
        ET.SubElement(suite, "system-out").text = "\n".join(_serving(view))
        _count(suite)
    for attribute in ("tests", "failures", "errors"):
        root.set(attribute, str(sum(int(suite.get(attribute, "0")) for suite in root)))
    ET.indent(root)
    text = ET.tostring(root, encoding="unicode")
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()


def _properties(suite: ET.Element, view: View, device: DeviceReport) -> None:
    report = view.report
    told = {
        "platform": device.platform,
        "outcome": device.outcome,
        "verdict": device.verdict,
        "site's verdict": view.verdict,
        "occasion": report.occasion,
        "captured": capture_days(report).of[device.name],
        "plan": f"{sanitize(report.plan.file)}, SHA-256 {report.plan.sha256}",
        "made by": sanitize(report.tool),
    }
    holder = ET.SubElement(suite, "properties")
    for name, value in told.items():
        if value:
            ET.SubElement(holder, "property", name=name, value=value)


def _case(suite: ET.Element, device: str, area: str, name: str) -> ET.Element:
    return ET.SubElement(suite, "testcase", classname=f"{device}.{area}", name=name, time="0")


def _areas(suite: ET.Element, device: DeviceReport) -> None:
    for area, counts in device.areas.items():
        if counts.conforming:
            case = _case(suite, device.name, area, f"{area}: conforming settings")
            case.set("assertions", str(counts.conforming))
            ET.SubElement(case, "system-out").text = f"{counts.conforming} of {counts.planned} planned settings"


def _finding(suite: ET.Element, view: FindingView) -> None:
    finding = view.finding
    case = _case(suite, finding.device, finding.area, view.setting)
    if not finding.counts:
        ET.SubElement(case, "skipped").text = f"{view.effect}: {view.approval}"
        return
    told = [
        f"{finding.kind}: {view.kind}",
        f"expected {view.expected}, observed {view.observed}",
        f"concerns {view.concerns}" if view.concerns else "",
        view.approval,
        *(f"{place}: {text.strip()}" for place, text in view.evidence),
    ]
    failure = ET.SubElement(case, "failure", type=finding.consequence, message=view.effect)
    failure.text = "\n".join(line for line in told if line)


def _unknown(suite: ET.Element, view: View, device: DeviceReport) -> None:
    """Add what is unknown: why a device was not audited or not completely, lines, and unverified settings."""
    for name, outcome, reason in view.problems:
        if name == device.name:
            error = ET.SubElement(_case(suite, name, "capture", "audited completely"), "error", type=outcome)
            error.set("message", reason)
            lines = [f"{place}: {text.strip()}" for owner, place, text in view.not_understood if owner == name]
            error.text = "\n".join(lines)
    for item in view.unverified:
        if item.device == device.name:
            for setting in item.settings:
                case = _case(suite, item.device, setting.partition(".")[0], setting)
                ET.SubElement(case, "skipped").text = f"unverified: {item.why}"


def _count(suite: ET.Element) -> None:
    cases = suite.findall("testcase")
    found = Counter(part.tag for case in cases for part in case)
    suite.set("tests", str(len(cases)))
    for attribute, element in _OUTCOMES.items():
        suite.set(attribute, str(found[element]))


def _serving(view: View) -> list[str]:
    """Return the site's service paths as lines; what breaks them are findings above."""
    lines = [view.serving.summary]
    for row in view.serving.rows:
        cells = ", ".join(f"{head} {cell.words}" for head, cell in row.cells)
        lines += [f"{row.service} {row.where}, {row.subnet}: {cells}", *(f"  {text}" for text in row.broken)]
    for title, texts in (*view.serving.lists, *view.lists):
        lines += [title, *(f"  {text}" for text in texts)]
    return lines


FORMAT = Format("report.junit.xml", _render)
