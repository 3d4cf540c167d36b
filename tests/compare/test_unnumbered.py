"""Small sites whose devices have a bridge for each subnet and no number for it: in order, and with one change each.

The sites are data, in ``fixtures/bridges/``. That frames of one bridge do not come into another, and that a VLAN
interface takes its tag off before a bridge that it is on, is IEEE 802.1Q (bridges, and the C-tagged port interface);
the dialects' lines are from memory of their handbooks.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from tests.compare.site import Site, edited, made_of
from tests.conftest import FIXTURES, from_yaml

FOLDER = FIXTURES / "bridges"
SITES = {
    f"{file.stem}: {site['name']}": (file.stem, site)
    for file in sorted(FOLDER.glob("*.yaml"))
    for site in from_yaml(file.read_text(encoding="utf-8"))
}
DRIFTS = [(name, drift) for name, (_, site) in SITES.items() for drift in site["drifts"]]


def plan_of(platform: str, site: dict[str, Any]) -> dict[str, Any]:
    def subnet(vid: int, octet: int) -> dict[str, Any]:
        net = f"192.168.{octet}"
        dhcp = {"pool": f"{net}.50-{net}.199"} if site.get("dhcp", not site.get("address")) else "none"
        return {"vlan": vid, "prefix": f"{net}.0/24", "dhcp": dhcp}

    device = {"role": site.get("role", "gateway"), "platform": platform, "ports": site["ports"]}
    if site.get("address"):
        device["address"] = site["address"]
    return {
        "format": 1,
        "site": "Weir Cottage Tea Room",
        "defaults": {"dns": ["192.0.2.53"], "lease": "12h", **({} if site.get("address") else {"gateway": "gw1"})},
        "subnets": {"office": subnet(10, 77), "guest": subnet(40, 78)},
        "wifi": {name: {**wifi, "on": ["gw1"]} for name, wifi in site.get("wifi", {}).items()},
        "devices": {"gw1": device},
    }


def site_of(name: str) -> Site:
    platform, site = SITES[name]
    return made_of(plan_of(platform, site), site["captures"])


def changed(name: str, change: dict[str, Any]) -> Site:
    """Return a site with one change, which may have several places."""
    site = site_of(name)
    for part in change.get("changes", [change]):
        file = part.get("file", change.get("file", next(iter(site.files))))
        how = {key: part[key] for key in ("old", "new", "below", "everywhere") if key in part}
        site = site.having(file, edited(site.text(file), **how))
    return site


def variants(name: str) -> Iterator[tuple[dict[str, Any], Site]]:
    yield {}, site_of(name)
    for harmless in SITES[name][1].get("harmless", []):
        yield harmless, changed(name, harmless)


@pytest.mark.parametrize("name", SITES)
def test_it_conforms_whatever_its_bridges_are_called(name):
    for harmless, site in variants(name):
        report = site.audited()
        wanted = harmless.get("findings", {})
        found = {f.setting: (f.kind, f.expected, f.observed) for f in report.findings}
        assert {setting: kind for setting, (kind, *_) in found.items()} == wanted, (harmless, found)
        assert report.unverified == []
        assert (report.complete, report.exit_code) == (True, 1 if wanted else 0), report.devices[0].reason
        assert {path.state for path in report.services.paths} <= {"reached"}
        assert wanted or report.services.leaks == []


@pytest.mark.parametrize(("name", "drift"), DRIFTS, ids=[f"{name}: {drift['case']}" for name, drift in DRIFTS])
def test_its_drifts_are_found(name, drift):
    report = changed(name, drift).audited()
    found = {f.setting: (f.kind, f.expected, f.observed) for f in report.findings}
    assert {setting: kind for setting, (kind, *_) in found.items()} == drift["findings"], found
    assert (report.complete, report.exit_code) == (True, 1), report.devices[0].reason
    assert all(finding.evidence for finding in report.findings if finding.kind != "absent" or finding.field)
    broken = {path.places[0] for path in report.services.paths if path.state == "broken" and path.places}
    assert broken >= set(drift.get("broken", ())), report.services.paths
    assert {leak.place for leak in report.services.leaks} >= set(drift.get("leaks", ()))
