"""What ``auditor platforms`` says of a platform agrees with what the law is tried on, and with the corpus."""

from __future__ import annotations

import pytest

from auditor.areas.abilities import abilities_of
from auditor.core.state import AREAS, KEYED_AREAS, fields_of
from auditor.platforms import catalogue
from tests.conftest import CORPUS
from tests.platforms import corpus
from tests.platforms.states import Profile, profiles

PROFILES = profiles()
SETTINGS = {"hostname", "vlans", *(f"{a}.{f}" for a in (*KEYED_AREAS, "management") for f in fields_of(a))}
WORDS = {
    "voice": "ports.voice",
    "description": "ports.description",
    "shared": "gateways.shared_addresses",
    "relay": "gateways.relay_to",
    "same_relay": "gateways.relay_to",
    "domain": "dhcp.domain",
    "options": "dhcp.options",
    "boot_options": "dhcp.options",
    "reservations": "dhcp.reservations",
    "hidden": "ssids.hidden",
    "isolation": "ssids.client_isolation",
    "ntp": "management.ntp",
    "dns": "management.dns",
    "syslog": "management.syslog",
    "snmp": "management.snmp",
}
"""By word of a profile (tests/platforms/states.py), the setting that it stands for."""

WITHOUT_A_WORD = {"vlans", "ports.enabled", "ports.untagged", "ports.tagged", "management.logins", "ssids.enabled"}
WITHOUT_A_WORD |= {"ssids.passphrase_matches", "uplinks.address"}
"""What the law is tried on wherever there are such items, and a passphrase, which is compared by other means."""


def claimed(profile: Profile) -> set[str]:
    """Return the settings that a profile says the law holds for."""
    ssids = profile.get("ssids") or {}
    said = [
        *profile.get("port_settings", ()),
        *profile.get("gateway_settings", ()),
        *(profile.get("dhcp") or {}).get("fields", ()),
        *ssids.get("settings", ()),
        *profile["management"],
    ]
    found = {WORDS[word] for word in said if word in WORDS} | {"hostname", "ports.mode"}
    found |= {"vlans.name"} if profile.get("names") else set()
    found |= {"gateways.addresses"} if profile["gateways"] != "none" else set()
    found |= {"dhcp.pools", "dhcp.gateway", "dhcp.dns", "dhcp.lease_seconds"} if "dhcp" in profile else set()
    found |= {"ssids.vlan", "ssids.security"} if ssids else set()
    found |= {"ssids.bands"} if "bands" in ssids else set()
    return found | ({"uplinks.method"} if profile.get("uplinks") else set())


@pytest.mark.parametrize(("name", "profile"), PROFILES, ids=[f"{n}-{p['role']}" for n, p in PROFILES])
def test_what_the_law_is_tried_on_is_said_to_be_read(name: str, profile: Profile):
    assert claimed(profile) <= abilities_of(name).read


@pytest.mark.parametrize("name", catalogue.names())
def test_what_is_said_to_be_read_is_tried_by_the_law(name: str):
    tried = set().union(*(claimed(profile) for platform, profile in PROFILES if platform == name))
    assert abilities_of(name).read - tried <= WITHOUT_A_WORD


@pytest.mark.parametrize("name", catalogue.names())
def test_every_setting_is_read_or_missing_or_lacking(name: str):
    found = abilities_of(name)
    assert sorted([*found.read, *found.missing, *found.lacking]) == sorted(SETTINGS)
    assert {found.of(area) for area in AREAS} <= {"all", "part", "none"}


@pytest.mark.parametrize("name", catalogue.names())
def test_there_are_as_many_real_configurations_as_are_told_of(name: str):
    """The number is a floor: the folder grows."""
    if not CORPUS.is_dir():
        pytest.skip("there are no real configurations beside this folder")
    assert 0 < catalogue.get(name).real_configurations <= len(list(corpus.devices_in(CORPUS, name)))
