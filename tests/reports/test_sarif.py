"""report.sarif against the JSON Schema of SARIF 2.1.0 (OASIS), as npm's @microsoft/jest-sarif carries it (MIT)."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from functools import partial
from typing import Any
from urllib.parse import unquote, urlsplit

import pytest

from auditor.core.report import Report
from auditor.reports.sarif import FORMAT
from auditor.reports.view import view_of
from tests.compare.site import MIXED, PLATFORM_SITES, conforming, drifted
from tests.reports import sites
from tests.reports.everything import SIGNS, every_outcome, planted
from tests.reports.packages import npm

SCHEMA = "@microsoft/jest-sarif/lib/schemas/sarif-2.1.0-rtm.5.json"
REPORTS: dict[str, Callable[[], Report]] = {
    "every outcome": every_outcome,
    "conforming": lambda: conforming(MIXED).report(),
    "drifted": lambda: drifted(MIXED).report(),
    "nothing": sites.unlinked,
    **{sign: partial(planted, text) for sign, text in SIGNS.items()},
}


def log_of(report: Report) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(FORMAT.render(view_of(report)))
    return found


def run_of(report: Report) -> dict[str, Any]:
    (run,) = log_of(report)["runs"]
    found: dict[str, Any] = run
    return found


def results(report: Report, kind: str) -> list[dict[str, Any]]:
    return [result for result in run_of(report)["results"] if result["kind"] == kind]


@pytest.mark.parametrize("name", REPORTS)
def test_it_keeps_to_the_published_schema(name: str):
    import jsonschema  # noqa: PLC0415 - heavy

    schema = json.loads(npm(SCHEMA).read_text())
    jsonschema.Draft4Validator(schema).validate(log_of(REPORTS[name]()))


def test_the_schema_refuses_what_is_no_log():
    import jsonschema  # noqa: PLC0415 - heavy

    schema = json.loads(npm(SCHEMA).read_text())
    log = log_of(every_outcome())
    log["runs"][0]["results"][0]["level"] = "exposure"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft4Validator(schema).validate(log)


def test_a_finding_is_a_failure_with_its_place():
    by_setting = {result["properties"]["setting"]: result for result in results(every_outcome(), "fail")}
    assert len(by_setting) == len(every_outcome().findings)
    for finding in every_outcome().findings:
        result = by_setting[finding.setting.replace("\u202e", "")]
        assert result["level"] == {"exposure": "error", "outage": "error", "upkeep": "warning"}[finding.consequence]
        assert result["partialFingerprints"] == {"finding/v1": finding.id}
        places = [p["physicalLocation"] for p in (*result["locations"], *result["relatedLocations"]) if len(p) > 1]
        assert [(p["artifactLocation"]["uri"], p["region"]["startLine"]) for p in places] == [
            (line.file, line.line) for line in finding.evidence
        ]
    assert by_setting["gateways.40.addresses"]["ruleId"] == "gateways.addresses/differs"
    assert by_setting["gateways.50"]["ruleId"] == "gateways/absent"
    assert by_setting["vlans.44"]["ruleId"] == "vlans/unplanned"


def test_what_is_approved_is_suppressed_and_what_has_expired_is_not():
    suppressed = {r["properties"]["setting"]: r["suppressions"] for r in results(every_outcome(), "fail")}
    (approved,) = suppressed.pop("ports.GigabitEthernet1/0/7.untagged")
    assert (approved["kind"], approved["status"]) == ("external", "accepted")
    assert "ultrasound cart until the refit" in approved["justification"]
    assert set(map(str, suppressed.values())) == {"[]"}
    expired = [r for r in results(every_outcome(), "fail") if "the approval expired on" in r["message"]["text"]]
    assert [r["properties"]["setting"] for r in expired] == ["ports.GigabitEthernet1/0/16.enabled"]


def test_rules_are_listed_once_and_named_by_their_number():
    # SARIF 2.1.0, 3.27.6 (from memory)
    run = run_of(every_outcome())
    rules = [rule["id"] for rule in run["tool"]["driver"]["rules"]]
    assert len(rules) == len(set(rules))
    assert all(rules[result["ruleIndex"]] == result["ruleId"] for result in run["results"])


def test_what_is_not_known_is_no_failure_and_no_pass():
    # SARIF 2.1.0, 3.27.9 and 3.27.10 (from memory): all kinds but "fail" have the level "none"
    assert {r["kind"] for r in run_of(every_outcome())["results"]} == {"fail", "open", "review"}
    assert {r["level"] for kind in ("open", "review") for r in results(every_outcome(), kind)} == {"none"}
    told = " ".join(r["message"]["text"] for r in results(every_outcome(), "open"))
    assert all(str(item.setting) in told for item in every_outcome().unverified)
    (line,) = results(every_outcome(), "review")
    assert line["locations"][0]["physicalLocation"]["region"]["startLine"] == 97


@pytest.mark.parametrize(("name", "succeeded", "code"), [("every outcome", False, 3), ("conforming", True, 0)])
def test_a_run_with_trouble_has_not_succeeded(name: str, succeeded: bool, code: int):
    (invocation,) = run_of(REPORTS[name]())["invocations"]
    assert (invocation["executionSuccessful"], invocation["exitCode"]) == (succeeded, code)
    errors = [n for n in invocation["toolExecutionNotifications"] if n["level"] == "error"]
    assert bool(errors) != succeeded
    if errors:
        assert {n["descriptor"]["id"] for n in errors} == {"audited", "not-captured", "not-readable"}
        assert [n["level"] for n in invocation["toolConfigurationNotifications"]] == ["warning", "warning"]


@pytest.mark.parametrize("sign", SIGNS)
def test_places_are_relative_uris_and_messages_have_neither_links_nor_placeholders(sign: str):
    # RFC 3986; SARIF 2.1.0, 3.11.5 and 3.11.6
    log = log_of(planted(SIGNS[sign]))
    uris = re.findall(r'"uri": "([^"]*)"', json.dumps(log))
    assert SIGNS[sign] in {unquote(uri, errors="surrogatepass") for uri in uris}
    for uri in uris:
        assert re.fullmatch(r"([A-Za-z0-9._~/-]|%[0-9A-F]{2})+", uri)
        assert not urlsplit(uri).scheme
        assert not uri.startswith("/")
    for result in log["runs"][0]["results"]:
        text = result["message"]["text"].replace("{{", "").replace("}}", "")
        assert not set("{}") & set(text)
        assert not re.search(r"\]\(", text)


@pytest.mark.slow
@pytest.mark.parametrize("name", PLATFORM_SITES)
def test_every_platform_s_site_keeps_to_it(name: str):
    import jsonschema  # noqa: PLC0415 - heavy

    schema = json.loads(npm(SCHEMA).read_text())
    jsonschema.Draft4Validator(schema).validate(log_of(conforming(name).report()))
