"""report.sarif: findings as SARIF 2.1.0 (OASIS), for viewers and trackers of results. Sections are that standard's.

A finding is a result of kind ``fail`` (3.27.9): exposure and outage at level ``error``, upkeep at ``warning``
(3.27.10). What is unverified is ``open``, a line not understood is ``review``; both at level ``none``. An approved
deviation is suppressed from outside (3.35), with the approval as its justification. A device that was not audited, or
not completely, is a notification of the run (3.20.21), which then has not succeeded.
"""

from __future__ import annotations

import json
from typing import Any
from urllib.parse import quote

from auditor.core.days import WORDS
from auditor.core.report import Consequence, DeviceReport, Finding, QuotedLine
from auditor.reports.interface import Format
from auditor.reports.sanitize import sanitize
from auditor.reports.view import KIND_WORDS, FindingView, UnverifiedView, View

_SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
_CAPTURES = "CAPTURES"
_LEVELS: dict[Consequence, str] = {"exposure": "error", "outage": "error", "upkeep": "warning"}
_UNVERIFIED, _NOT_UNDERSTOOD = "unverified", "not-understood"
_STALE, _NOTE, _BEARING = "approval-to-look-at", "how-it-was-read", "line-that-bears-on-settings"
_WORDS = {
    _UNVERIFIED: "planned, but these captures cannot show it",
    _NOT_UNDERSTOOD: "a line of an audited area that could not be read",
    "audited": "the device was not audited completely",
    "not-captured": "nothing was captured of the device",
    "not-readable": "the device's capture could not be read",
    _STALE: "an approval that has expired, or that no finding matches",
    _NOTE: "something remarkable about how a device was read",
    _BEARING: "a line that is known and not compared, and bears on what is planned",
}
"""What rules and notifications without a kind of finding are called, and what they say."""
_Json = dict[str, Any]


def _render(view: View) -> bytes:
    log = {"$schema": _SCHEMA, "version": "2.1.0", "runs": [_run(view)]}
    return (json.dumps(log, indent=2) + "\n").encode()


def _run(view: View) -> _Json:
    report = view.report
    name, _, version = sanitize(report.tool).partition(" ")
    findings = [_finding(finding) for group in view.groups for finding in group.findings]
    unknown = [_unverified(item) for item in view.unverified]
    unknown += [_not_understood(*line) for device in view.devices for line in _lines(device)]
    notes = [_notification(name, outcome.replace(" ", "-"), "error", why) for name, outcome, why in view.problems]
    notes += [_notification("", _NOTE, "note", text) for text in view.remarks]
    notes += [_notification(name, _BEARING, "note", text) for name, text in (*view.overriding, *view.limits)]
    stale = [_notification("", _STALE, "warning", text) for text in view.deviations]
    used = list(dict.fromkeys(note["descriptor"]["id"] for note in (*notes, *stale)))
    return {
        "tool": {
            "driver": {
                "name": name,
                **({"version": version} if version else {}),
                "rules": _rules([*findings, *unknown]),
                "notifications": [{"id": key, "shortDescription": {"text": _WORDS[key]}} for key in used],
            }
        },
        "automationDetails": {"id": f"{view.title}/{report.occasion}/{report.audited_on}"},
        "invocations": [
            {
                "executionSuccessful": report.complete,
                "exitCode": report.exit_code,
                "toolExecutionNotifications": notes,
                "toolConfigurationNotifications": stale,
            }
        ],
        "originalUriBaseIds": {_CAPTURES: {"description": {"text": "the folder that the captures are in"}}},
        "artifacts": [_artifact(device, number) for device in view.devices for number in range(len(device.captures))],
        "results": [*findings, *unknown],
        "properties": {"verdict": view.verdict, "headline": view.headline, "summary": view.summary},
    }


def _artifact(device: DeviceReport, number: int) -> _Json:
    capture = device.captures[number]
    found: _Json = {"location": _uri(capture.file), "roles": ["analysisTarget"], "hashes": {"sha-256": capture.sha256}}
    if device.captured:
        found["properties"] = {"captured": device.captured.on.isoformat(), "knownBy": WORDS[device.captured.by]}
    return found


def _uri(file: str) -> _Json:
    """Return where a captured file is: relative, each octet that a URI cannot have percent-encoded (RFC 3986)."""
    return {"uri": quote(file, safe="/", errors="surrogatepass"), "uriBaseId": _CAPTURES}


def _location(device: str, setting: str, line: QuotedLine | None = None) -> _Json:
    name = f"{sanitize(device)}/{sanitize(setting)}" if setting else sanitize(device)
    found: _Json = {"logicalLocations": [{"fullyQualifiedName": name}]}
    if line is not None:
        region = {"startLine": line.line, "snippet": {"text": sanitize(line.text)}}
        found["physicalLocation"] = {"artifactLocation": _uri(line.file), "region": region}
    return found


def _finding(view: FindingView) -> _Json:
    finding = view.finding
    places = [_location(finding.device, finding.setting, line) for line in finding.evidence]
    places = places or [_location(finding.device, finding.setting)]
    told = {
        "consequence": finding.consequence,
        "device": sanitize(finding.device),
        "setting": view.setting,
        "kind": finding.kind,
        "expected": view.expected,
        "observed": view.observed,
        "concerns": view.concerns,
        "approval": view.approval,
    }
    suppression = {"kind": "external", "status": "accepted", "justification": view.approval}
    expired = f" ({view.approval})" if finding.counts and view.approval else ""
    return {
        "ruleId": f"{_place(finding)}/{finding.kind}",
        "kind": "fail",
        "level": _LEVELS[finding.consequence],
        "message": _message(f"{view.effect}{expired}"),
        "locations": places[:1],
        "relatedLocations": places[1:],
        "partialFingerprints": {"finding/v1": finding.id},
        "suppressions": [] if finding.counts else [suppression],
        "properties": told,
    }


def _place(finding: Finding) -> str:
    """Return a finding's area, and the field where it is about one: a rule is the same for all ports."""
    return str(finding.place._replace(key=""))


def _lines(device: DeviceReport) -> list[tuple[str, QuotedLine]]:
    return [(device.name, line) for line in device.not_understood]


def _unverified(item: UnverifiedView) -> _Json:
    settings = ", ".join(item.settings)
    places = [_location(item.device, setting) for setting in item.settings]
    return _unknown(_UNVERIFIED, "open", f"{sanitize(item.device)}: {item.why}: {settings}", places)


def _not_understood(device: str, line: QuotedLine) -> _Json:
    text = f"{sanitize(device)}: not understood: {sanitize(line.text).strip()}"
    return _unknown(_NOT_UNDERSTOOD, "review", text, [_location(device, "", line)])


def _unknown(rule: str, kind: str, text: str, places: list[_Json]) -> _Json:
    return {
        "ruleId": rule,
        "kind": kind,
        "level": "none",
        "message": _message(text),
        "locations": places[:1],
        "relatedLocations": places[1:],
        "suppressions": [],
    }


def _rules(results: list[_Json]) -> list[_Json]:
    """Return the rules that results name, each once, and give every result its rule's number (3.27.6)."""
    numbers: dict[str, int] = {}
    for result in results:
        result["ruleIndex"] = numbers.setdefault(result["ruleId"], len(numbers))
    return [{"id": key, "shortDescription": {"text": _rule_words(key)}} for key in numbers]


def _rule_words(rule: str) -> str:
    place, _, kind = rule.partition("/")
    return _WORDS.get(rule) or f"{place.replace('.', ': ').replace('_', ' ')}: {KIND_WORDS[kind]}"


def _notification(device: str, key: str, level: str, text: str) -> _Json:
    about = f"{sanitize(device)} {key.replace('-', ' ')}: {text}" if device else text
    return {"descriptor": {"id": key}, "level": level, "message": _message(about)}


def _message(text: str) -> _Json:
    """Return text as a message that has neither placeholders (3.11.5) nor links (3.11.6) in it."""
    return {"text": text.replace("{", "{{").replace("}", "}}").replace("](", "] (")}


FORMAT = Format("report.sarif", _render)
