"""Listings read a second time by ntc-templates, a public library of TextFSM templates; both must say the same."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from auditor.areas import read
from auditor.reading.source import CaptureFile
from tests.checks import each
from tests.conftest import FIXTURES
from tests.platforms.corpus import demo_devices

PLATFORM = "cisco_ios"
THERE = {"active", "act/unsup"}
"""States of a VLAN that frames can be in (common practice, no source)."""


def listings() -> Iterator[Path]:
    """Yield the saved answers to "show vlan" and "show vlan brief" of one platform's made-up devices."""
    yield from (FIXTURES / "platforms" / PLATFORM).rglob("show_vlan*.txt")
    for device in demo_devices(FIXTURES / "networks", PLATFORM):
        yield from (path for path in device.paths if path.name.startswith("show_vlan"))


def test_vlans_of_listings():
    each(sorted(listings()), same_vlans)


def same_vlans(path: Path) -> None:
    from ntc_templates.parse import parse_output  # type: ignore[import-untyped]  # noqa: PLC0415 - heavy

    text = path.read_text(encoding="utf-8").replace("\r", "")
    bare = re.sub(r"(?m)^\S+[#>].*\n?", "", text)
    rows = parse_output(platform=PLATFORM, command="show vlan", data=bare)
    theirs = {int(row["vlan_id"]): row["vlan_name"] for row in rows if row["status"] in THERE}
    vlans = read(PLATFORM, [CaptureFile(path.name, text.encode())]).state.vlans
    ours = {vid: vlan.name for vid, vlan in vlans.items() if " " not in str(vlan.name)}
    assert len(theirs) > 3
    assert ours == theirs, "all but names with a blank, of which the library makes nothing"
