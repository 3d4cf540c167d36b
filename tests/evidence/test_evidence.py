"""Evidence of every made-up site: whole, the same bytes every time, no secret in it, and its report comes again."""

from __future__ import annotations

import io
import json
import re
import shutil
import subprocess
import zipfile
from dataclasses import replace
from pathlib import Path

import pytest
import yaml

from auditor.app.verifying import verify
from auditor.areas import read
from auditor.capture.interface import Captured
from auditor.compare import passphrase
from auditor.core.report import Report
from auditor.errors import ReportError
from auditor.evidence import Recorded, packing
from auditor.evidence.archive import unpack
from auditor.evidence.manifest import MANIFEST, SUMS
from auditor.passphrases import is_keyed_digest
from auditor.plan.loader import load, parse
from auditor.platforms import catalogue
from auditor.reports import FORMATS
from tests.compare.site import (
    MIXED,
    PASSPHRASES,
    PLATFORM_SITES,
    SITES,
    Site,
    conforming,
    drifted,
    edited,
    plan_text,
)
from tests.effort import share
from tests.evidence.made import CORE, QUARRY, evidence, report_in, small, wrong
from tests.plan.books import sheets_of, workbook

EVERY = [(name, conforming) for name in (*SITES, MIXED, *PLATFORM_SITES)] + [(QUARRY, drifted), (MIXED, drifted)]
PLANTED = "Hedgehog47"
WHOLE = "VERIFIED: all {} files match, and the audit gives the same report again"
"""The headline where all was compared."""


def without_a_device(site: Site) -> Site:
    """Return a site of which a device was not captured, the last one."""
    return site.without(*site.files_of(list(site.plan.data.devices)[-1]))


def but_for_sums(report: Report) -> Report:
    """Return a report without what differs once it is written: its files, and sums where secrets were taken out."""
    devices = [
        device.model_copy(
            update={"captures": [capture.model_copy(update={"sha256": ""}) for capture in device.captures]}
        )
        for device in report.devices
    ]
    return report.model_copy(update={"devices": devices, "files": []})


TRIED = share(EVERY, lambda each: f"{each[0]}-{each[1].__name__}", quick=5)


@pytest.mark.parametrize(("name", "captures"), TRIED, ids=[f"{name}-{site.__name__}" for name, site in TRIED])
def test_the_report_comes_again(name: str, captures):
    for site in (captures(name), without_a_device(captures(name))):
        data = evidence(site, formats=FORMATS[:3])
        found = verify(data, PASSPHRASES)
        assert (wrong(found), found.uncompared, found.exit_code) == ([], {}, 0)
        assert found.headline.startswith(f"{WHOLE.format(len(unpack(data)))}; ")
        plain, recorded = site.report(), report_in(data)
        assert but_for_sums(recorded) == but_for_sums(plain)


@pytest.mark.slow
def test_each_format_comes_again():
    data = evidence(drifted(QUARRY), occasion="acceptance")
    assert {f"reports/{form.file}" for form in FORMATS} < set(unpack(data))
    found = verify(data, PASSPHRASES)
    assert (found.headline, found.exit_code) == (WHOLE.format(len(unpack(data))), 0)


@pytest.mark.slow
def test_the_same_audit_gives_the_same_bytes():
    assert evidence(drifted(QUARRY)) == evidence(drifted(QUARRY))
    few = FORMATS[:3]
    others = [evidence(conforming(QUARRY), formats=few), evidence(drifted(QUARRY), formats=few, occasion="acceptance")]
    assert evidence(drifted(QUARRY), formats=few) not in others


def test_what_is_in_it():
    data = small()
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        assert archive.testzip() is None
        assert archive.namelist() == sorted(archive.namelist())
        assert {entry.date_time for entry in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
        assert archive.read("plan/plan.yaml") == plan_text(QUARRY).encode()
        told = json.loads(archive.read(MANIFEST))
        assert {f"reports/{form.file}" for form in FORMATS[:3]} < set(archive.namelist())
    assert list(told)[:6] == ["format", "tool", "site", "reference", "occasion", "audited_on"]
    assert (told["format"], told["occasion"], told["audited_on"]) == ("auditor-evidence/4", "acceptance", "2026-11-25")
    assert told["passphrases"] == ["QUARRY_GUEST"]
    devices = {device["name"]: device for device in told["devices"]}
    assert devices["ap2"]["not_captured"] == "nothing is saved of ap2"
    assert devices["gw1"]["files"] == [
        {"file": "captures/gw1.rsc", "name": "gw1.rsc", "days": {"record": "2026-11-25"}}
    ]
    names = [entry["file"] for entry in told["files"]]
    assert names == sorted(set(unpack(data)) - {MANIFEST, SUMS})
    kept = {entry["file"]: entry["sha256"] for entry in told["files"] if entry["file"].startswith("captures/")}
    captures = [capture for device in report_in(data).devices for capture in device.captures]
    assert {f"captures/{capture.file}": capture.sha256 for capture in captures} == kept


@pytest.mark.skipif(shutil.which("sha256sum") is None, reason="needs GNU coreutils")
def test_sha256sum_accepts_its_sums(tmp_path: Path):
    with zipfile.ZipFile(io.BytesIO(small())) as archive:
        archive.extractall(tmp_path)
    run = subprocess.run(
        ["sha256sum", "-c", "--strict", SUMS], cwd=tmp_path, capture_output=True, text=True, check=False
    )
    assert run.returncode == 0, run.stdout
    assert len(run.stdout.splitlines()) == len(unpack(small())) - 1


def test_a_plan_kept_as_a_workbook_goes_in_as_it_is(tmp_path: Path):
    path = tmp_path / "plan.xlsx"
    quoted = re.sub(r"(?<!\w)(on|off):", r"'\1':", plan_text(QUARRY))
    path.write_bytes(workbook(sheets_of(yaml.safe_load(quoted))))
    site = replace(conforming(QUARRY), plan=load(path))
    data = evidence(site, formats=FORMATS[:1])
    assert unpack(data)["plan/plan.xlsx"] == path.read_bytes()
    assert verify(data, PASSPHRASES).exit_code == 0


def test_names_of_files_mean_nothing_to_a_file_system():
    site = conforming("harbour-bakery")
    text = site.files["sw1.cfg"]
    renamed = replace(site, files={**site.without("sw1.cfg").files, "sw1/../..\\con: \n\u202e.cfg": text})
    data = evidence(renamed, formats=FORMATS[:1])
    (kept,) = [name for name in unpack(data) if "sw1" in name]
    assert kept == "captures/sw1/_/_con_.cfg"
    assert verify(data, PASSPHRASES).exit_code == 0
    report = report_in(data)
    (name,) = [capture.file for device in report.devices if device.name == "sw1" for capture in device.captures]
    assert name in renamed.files


SECRETS = {
    "cisco_ios": (
        "enable secret 5 {0}\nusername x privilege 15 secret 9 {0}\nsnmp-server community {0} RO\n"
        "snmp-server user u g v3 auth sha {0} priv aes 128 {0}\nntp authentication-key 7 md5 {0} 7\n"
    ),
    "mikrotik_routeros": "/snmp community\nset [ find default=yes ] name={0}\n/ppp secret\nadd name=x password={0}\n",
    "openwrt": "config interface 'wan9'\n\toption device 'eth9'\n\toption proto 'pppoe'\n\toption password '{0}'\n",
}
"""Lines with secrets, from the handbooks of these dialects (from memory)."""


def planted() -> Site:
    """Return the clinic with secrets in the captures of all its devices."""
    site = conforming(QUARRY)
    for file, platform in ((CORE, "cisco_ios"), ("access1/show_running-config.txt", "cisco_ios"),
                           ("gw1.rsc", "mikrotik_routeros"), ("ap1/network", "openwrt")):  # fmt: skip
        text = site.text(file)
        lines = SECRETS[platform].format(PLANTED)
        site = site.having(
            file, edited(text, "\nend\n", f"\n{lines}end\n") if platform == "cisco_ios" else text + lines
        )
    return site


def test_no_secret_is_in_it():
    site = planted()
    keys = [PASSPHRASES["QUARRY_GUEST"]]
    before = b"".join(site.files.values()).decode()
    assert all(secret in before for secret in (PLANTED, *keys))
    data = evidence(site)
    for name, contents in unpack(data).items():
        for secret in (PLANTED, *keys):
            assert secret.encode() not in contents, name
            assert secret.encode("utf-16-be") not in contents, name
    pages = b"".join(contents for name, contents in unpack(data).items() if name.endswith(".pdf"))
    assert not pages or PLANTED not in told_by(pages)
    assert PASSPHRASES["QUARRY_GUEST"].encode() not in data
    assert verify(data, PASSPHRASES).exit_code == 0


def told_by(pdf: bytes) -> str:
    """Return the text of a PDF, whose streams are compressed."""
    if shutil.which("pdftotext") is None:
        pytest.skip("needs Debian's poppler-utils")
    return subprocess.run(["pdftotext", "-", "-"], input=pdf, capture_output=True, check=True).stdout.decode()


def test_no_sum_tells_of_a_secret():
    """A sum of a capture with its secrets, beside the capture without them, would let anybody try secrets quickly."""
    site = planted()
    data = evidence(site, formats=FORMATS[:3])
    whole = b"".join(unpack(data).values()).decode()
    recorded = Recorded(site.plan, site)
    changed = []
    for device in site.plan.data.devices:
        before, after = site.capture(device), recorded.capture(device)
        assert isinstance(before, Captured)
        assert isinstance(after, Captured)
        for one, other in zip(before.files, after.files, strict=True):
            assert other.sha256 in whole
            if one.data != other.data:
                changed.append(one.name)
                assert one.sha256 not in whole
    assert {CORE, "gw1.rsc", "ap1/network", "ap1/wireless"} <= set(changed)


def test_evidence_of_evidence_is_the_same():
    """Captures that are already without secrets, as live ones are, stay as they are, digests and all."""
    site = drifted(QUARRY)
    recorded = Recorded(site.plan, site)
    once = {device: recorded.capture(device) for device in site.plan.data.devices}
    again = Recorded(site.plan, recorded)
    assert {device: again.capture(device) for device in site.plan.data.devices} == once


def test_one_passphrase_for_two_wifi_names_can_be_compared_for_both():
    text = "".join(
        f"config wifi-iface '{ssid}'\n\toption device 'r'\n\toption ssid '{ssid}'\n\toption encryption 'psk2'\n"
        "\toption key 'the same for both'\n"
        for ssid in ("One", "Two")
    )
    from auditor.capture.masking import without_secrets  # noqa: PLC0415 - only here
    from auditor.reading.source import CaptureFile  # noqa: PLC0415

    (kept,) = without_secrets(
        "openwrt", [CaptureFile("wireless", f"config wifi-device 'r'\n\toption band '2g'\n{text}".encode())]
    )
    assert b"the same" not in kept.data
    stored = read("openwrt", [kept]).passphrases
    for ssid in ("One", "Two"):
        assert all(is_keyed_digest(one.text) for one in stored[ssid])
        assert passphrase.matches("the same for both", ssid, stored[ssid]) is True
        assert passphrase.matches("another one", ssid, stored[ssid]) is False


def test_verdicts_on_passphrases_that_are_not_set_here_are_counted_in_the_headline():
    for site, number in ((conforming(QUARRY), 2), (drifted(QUARRY), 2), (conforming(MIXED), 1), (drifted(MIXED), 1)):
        found = verify(evidence(site, formats=FORMATS[:3]), {})
        assert (wrong(found), found.exit_code) == ([], 3)
        verdicts = "1 passphrase verdict" if number == 1 else f"{number} passphrase verdicts"
        assert found.headline.endswith(f"; {verdicts} taken from the archive, not checked")
        assert f"set {found.passphrases[0]} and verify again" in found.lines()[2]


def test_a_passphrase_that_is_never_shown_needs_no_word_of_the_report():
    """What a capture stores irreversibly cannot be compared by anybody: that is seen without the passphrase."""
    site = conforming(QUARRY)
    for device in ("ap1", "ap2"):
        shown = f"option key '{PASSPHRASES['QUARRY_GUEST']}'"
        site = site.having(f"{device}/wireless", edited(site.text(f"{device}/wireless"), shown, "", everywhere=True))
    data = evidence(site, formats=FORMATS[:1])
    assert "does not show the passphrase" in report_in(data).unverified[-1].why
    found = verify(data, {})
    assert (found.passphrases, found.exit_code) == ([], 0)


def test_another_passphrase_than_then_is_told_as_what_it_may_be():
    found = verify(small(), {"QUARRY_GUEST": "badgers are welcome here"})
    assert found.exit_code == 1
    assert any("counts" in text for text in wrong(found))
    assert any("If QUARRY_GUEST was changed" in text for text in found.lines())


def test_a_passphrase_that_was_not_compared_then_is_not_compared_now():
    data = evidence(conforming(QUARRY), {}, formats=FORMATS[:3])
    assert {item.cause for item in report_in(data).unverified} == {"not-given", "cannot"}
    for environment in (PASSPHRASES, {}):
        found = verify(data, environment)
        assert (found.exit_code, found.passphrases) == (0, [])


def test_whole_evidence_is_not_taken_for_a_site_that_conforms():
    conforms = evidence(conforming(QUARRY), formats=FORMATS[:1])
    for data, verdict in ((small(), "incomplete and nonconforming"), (conforms, "conforming")):
        assert verify(data, PASSPHRASES).lines()[1].endswith(f"; its verdict: {verdict}")


def test_a_report_that_is_too_large_to_be_looked_into_is_not_packed(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(packing, "MAX_JSON", 1000)
    with pytest.raises(ReportError, match="too much"):
        evidence(conforming(QUARRY), formats=FORMATS[:1])


def test_it_says_what_it_does_not_show():
    last = verify(small(), PASSPHRASES).lines()[-1]
    assert "does not show who made the archive" in last
    assert "nor that the captures are what the devices held" in last


def test_every_platform_is_in_some_site():
    """What is put into evidence was tried for the captures of every dialect."""
    tried = {device.platform for name, site in EVERY for device in site(name).plan.data.devices.values()}
    assert tried == set(catalogue.names())


def test_a_plan_with_a_name_of_its_own_keeps_it():
    site = replace(
        conforming("harbour-bakery"), plan=parse("sites/Bäckerei.yaml", plan_text("harbour-bakery").encode())
    )
    data = evidence(site, formats=FORMATS[:1])
    assert "plan/B_ckerei.yaml" in unpack(data)
    assert report_in(data).plan.file == "Bäckerei.yaml"
    assert verify(data, PASSPHRASES).exit_code == 0
