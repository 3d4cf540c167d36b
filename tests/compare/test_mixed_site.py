"""A site of five makes from saved captures: it conforms, and of the drifted one exactly the drifts are told."""

from __future__ import annotations

from typing import Any

import pytest

from auditor.app.expectation import expectation_files
from tests.compare.site import MIXED, NETWORKS, PASSPHRASES, PLATFORM_SITES, SITES, conforming, drifted, unseen
from tests.conftest import from_yaml

FIVE_MAKES = {"fortinet", "juniper_junos", "hp_procurve", "cisco_s300", "mikrotik_routeros"}
TOLD = ("device", "setting", "kind", "expected", "observed", "consequence")


def by_place(finding: dict[str, Any]) -> tuple[str, str]:
    return finding["device"], finding["setting"]


def test_five_makes_conform():
    report = conforming(MIXED).audited()
    assert {device.platform for device in report.devices} == FIVE_MAKES
    assert {device.outcome for device in report.devices} == {"audited"}
    assert (report.findings, unseen(report)) == ([], [])
    assert (report.verdict, report.complete, report.exit_code) == ("conforming", True, 0)


def test_each_drift_is_told_and_nothing_else():
    report = drifted(MIXED).audited()
    told = [{**{k: getattr(f, k) for k in TOLD}, "approved": f.approved is not None} for f in report.findings]
    wanted = from_yaml((NETWORKS / MIXED / "drifted.yaml").read_text(encoding="utf-8"))
    assert sorted(told, key=by_place) == sorted(wanted, key=by_place)
    assert {finding["device"] for finding in told} == {device.name for device in report.devices}
    assert (report.verdict, report.complete, report.exit_code) == ("nonconforming", True, 1)
    counts = report.counts
    assert counts.planned == counts.conforming + counts.nonconforming + counts.unverified
    assert counts.approved == 1


def test_no_secret_of_it_is_in_the_report():
    text = drifted(MIXED).audited().model_dump_json()
    for secret in (PASSPHRASES["MILLRACE_GUEST"], "our old passphrase", "not0a0real", "notAReal", "0123456789abcdef"):
        assert secret not in text


@pytest.mark.parametrize("name", [MIXED, *SITES, *PLATFORM_SITES])
def test_expected_text_has_a_word_for_everything(name: str):
    """A setting that is not there is left out of the native text; nothing is called None in it."""
    for file, data in expectation_files(conforming(name).plan).items():
        if file.endswith(".cfg"):
            assert "None" not in data if isinstance(data, str) else b"None" not in data
