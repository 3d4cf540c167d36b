"""What a drift does to whom, held against the paths and leaks of the same report."""

from __future__ import annotations

from tests.corrections.proof import Drift


def what_it_does_is_said_in_terms_of_the_plan(drift: Drift) -> None:
    """What is broken is no upkeep, what comes out elsewhere is exposure, and whoever is concerned is named."""
    report = drift.report
    for finding in report.findings:
        place = (finding.device, finding.place)
        broken = [p for p in report.services.paths for s in p.faults if s.device == place[0] and place[1] in s.settings]
        leaks = [leak for leak in report.services.leaks if place in leak.at and leak.kind != "device"]
        assert not broken or finding.consequence != "upkeep"
        for path in broken:
            assert path.kind != "wifi" or f"{path.places[0]} on {path.device}" in finding.concerned.wifi
            assert path.kind != "port" or finding.concerned.ports
        for leak in leaks:
            own = leak.device == finding.device and f".{leak.place}" in finding.setting
            assert own or (finding.consequence == "exposure" and leak.device in finding.effect)
    ids = {finding.id for finding in report.findings}
    assert all(finding.cause in ids for finding in report.findings)


CHECKS = (what_it_does_is_said_in_terms_of_the_plan,)
