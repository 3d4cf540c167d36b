"""VLAN 1, planned: flat networks on it, and it beside tagged VLANs, on every platform in the device's own hand.

The sites are data, in ``fixtures/vlan_one/``. IEEE 802.1Q, table of reserved VID values: 1 is the default port VLAN id
of every bridge. That no line makes the VLAN, and what it is called until somebody renames it, is of the dialects.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from auditor.areas import expected_of
from auditor.core.state import Setting
from auditor.platforms import catalogue
from tests.compare.site import Site, edited, made_of
from tests.conftest import FIXTURES, from_yaml

FOLDER = FIXTURES / "vlan_one"
SITES = {
    f"{file.stem}: {site['name']}": (file.stem, site)
    for file in sorted(FOLDER.glob("*.yaml"))
    for site in from_yaml(file.read_text(encoding="utf-8"))
}


def plan_of(platform: str, site: dict[str, Any]) -> dict[str, Any]:
    served = {"pool": "192.168.77.50-192.168.77.199"}
    subnets: dict[str, Any] = {
        "office": {"vlan": 1, "prefix": "192.168.77.0/24", "dhcp": site.get("dhcp", served)},
        "guest": {"vlan": 20, "prefix": "192.168.78.0/24", "dhcp": "none"},
    }
    if "guest" not in str(site["ports"]):
        del subnets["guest"]
    device = {"role": site.get("role", "gateway"), "platform": platform, "ports": site["ports"]}
    if site.get("address") != "none":
        device["address"] = "192.168.77.1"
    return {
        "format": 1,
        "site": "Bramble Court Surgery",
        "defaults": {"dns": ["192.0.2.53"], "lease": "12h"}
        | ({"gateway": "gw1"} if site.get("address") != "none" else {}),
        "subnets": subnets,
        "wifi": {name: {**wifi, "on": ["gw1"]} for name, wifi in site.get("wifi", {}).items()},
        "devices": {"gw1": device},
    }


def site_of(name: str) -> Site:
    platform, site = SITES[name]
    return made_of(plan_of(platform, site), site["captures"])


def changed(name: str, changes: list[dict[str, Any]]) -> Iterator[tuple[dict[str, Any], Site]]:
    """Yield what is told of each change to a site's captures, and the site with that change made."""
    site = site_of(name)
    for change in changes:
        file = change.get("file", next(iter(site.files)))
        how = {key: change[key] for key in ("old", "new", "below", "everywhere") if key in change}
        yield change, site.having(file, edited(site.text(file), **how))


@pytest.mark.parametrize("name", SITES)
def test_it_conforms_in_whatever_way_it_is_printed(name):
    for harmless, site in changed(
        name, [{"old": "", "new": "", "everywhere": True}, *SITES[name][1].get("harmless", [])]
    ):
        report = site.audited()
        assert {f.setting: (f.kind, f.expected, f.observed) for f in report.findings} == {}, harmless["new"]
        assert report.unverified == []
        assert (report.verdict, report.complete, report.exit_code) == ("conforming", True, 0), report.devices[0].reason
        assert {path.state for path in report.services.paths} == {"reached"}
        assert report.services.leaks == []


@pytest.mark.parametrize("name", SITES)
def test_its_drifts_are_found(name):
    for drift, site in changed(name, SITES[name][1]["drifts"]):
        report = site.audited()
        assert {f.setting: f.kind for f in report.findings} == drift["findings"], drift["case"]
        complete = drift.get("complete", True)
        told = (drift["case"], report.devices[0].reason)
        assert (report.complete, report.exit_code) == (complete, 1 if complete else 3), told


def test_a_name_is_expected_where_there_can_be_another():
    """Sources stand in platform.yaml; what has no name at all is of dialects that give VLANs none."""
    named = {"arista_eos", "aruba_aoscx", "hp_procurve", "juniper_junos", "tplink_jetstream"}
    for name, (platform, _) in SITES.items():
        wanted = expected_of(site_of(name).plan)["gw1"]
        assert wanted.state.vlans[1].name == ("office" if platform in named else None), name
        assert Setting("vlans", "1", "name" if platform in named else "") in wanted.settings, name


def test_every_platform_is_there():
    assert {platform for platform, _ in SITES.values()} == set(catalogue.names())


def test_only_what_is_built_in_comes_with_a_name():
    for name in catalogue.names():
        platform = catalogue.get(name)
        lasting = {int(place.key) for place in platform.lacks if place.area == "vlans" and place.key}
        assert lasting <= set(platform.vlans.built_in), name
