"""Secrets that are known word for word: taken out wherever a device or a library puts them, and never out of a name."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from auditor.app.auditing import audit
from auditor.app.capturing import Access, capture
from auditor.areas import read
from auditor.capture.credentials import Wallet
from auditor.capture.interface import Captured, NotCaptured
from auditor.capture.live import CaptureRun
from auditor.capture.masking import Guarded, planned_secrets, without_secrets
from auditor.compare import passphrase
from auditor.core.report import QuotedLine
from auditor.evidence import Recorded
from auditor.platforms import catalogue
from auditor.reading.source import CaptureFile
from auditor.redact import REDACTED, KnownSecrets
from tests.capture.test_faults import ANSWERS, QUICK, way_to
from tests.compare.site import PASSPHRASES, TODAY, Site, conforming, edited
from tests.evidence.made import evidence
from tests.lab.shells import ENABLE, PASSWORD, Lab, Shell, lab

SECRET = "Hedgehog47!"
WORDS = "otters are welcome here"
CORE = "core1/show_running-config.txt"
END = "\nend\n"


@pytest.fixture(scope="module")
def devices() -> Iterator[Lab]:
    with lab() as found:
        yield found


def kept(platform: str, text: str, *secrets: str, name: str = "x.txt") -> str:
    """Return what is kept of a capture where secrets are known."""
    return without_secrets(platform, [CaptureFile(name, text.encode())], secrets=secrets)[0].data.decode()


SPELLINGS = {
    "in a banner": ("cisco_ios", f"banner motd ^C\nask for {SECRET} at the desk\n^C"),
    "in a comment": ("cisco_ios", f"! see {SECRET}"),
    "in an unknown line": ("cisco_ios", f"interface GigabitEthernet0/1\n frobnicate {SECRET}"),
    "in a description": ("cisco_ios", f"interface GigabitEthernet0/1\n description desk {SECRET} left"),
    "in a longer word": ("cisco_ios", "! seeHedgehog47!Now"),
    "in a line of no audited area": ("cisco_ios", f"event manager environment x {SECRET}"),
    "escaped": ("mikrotik_routeros", '/system note\nset note="Hedgehog47\\!"'),
    "wrapped": ("mikrotik_routeros", '/system note\nset note="see Hedge\\\n    hog47!"'),
    "in a URL": ("mikrotik_routeros", "/system note\nset note=https://x.example/?a=Hedgehog47%21"),
    "in XML": (
        "fortinet",
        'config system replacemsg admin "a"\n    set buffer "<b>Hedgehog47&#33;</b> Hedgehog47!"\nend',
    ),
    "as an octet": ("mikrotik_routeros", '/system note\nset note="Hedgehog47\\21"'),
}


@pytest.mark.parametrize(("platform", "text"), SPELLINGS.values(), ids=SPELLINGS)
def test_a_known_secret_is_taken_out_in_whatever_spelling(platform: str, text: str):
    shown = kept(platform, f"hostname x\n{text}\nend\n", SECRET)
    assert "Hedgehog47" not in shown.replace("&#33;", "") or "Hedgehog47&#33;" in shown
    assert "hog47" not in shown.replace("Hedgehog47&#33;", "")
    assert REDACTED in shown
    assert kept(platform, shown, SECRET) == shown


def test_several_words_are_one_secret():
    shown = kept("cisco_ios", f"hostname x\nbanner motd ^C\n{WORDS}\n^C\n! otters%20are%20welcome%20here\nend\n", WORDS)
    assert "welcome" not in shown


@pytest.mark.parametrize("secret", ["abc", "vlan", "interface", "switchport", "end", "redacted"])
def test_words_of_every_configuration_stay(secret: str):
    """From three characters up there is no configuration without them; the dialect's own words cut and read it."""
    text = ANSWERS["show running-config"]
    assert kept("cisco_ios", text, secret) == kept("cisco_ios", text)


def test_a_secret_behind_its_name_goes_whatever_word_it_is():
    shown = kept(
        "cisco_ios", "hostname x\nenable password 0 interface\nusername a secret 0 switchport\nend\n", "interface"
    )
    assert shown == f"hostname x\nenable password 0 {REDACTED}\nusername a secret 0 {REDACTED}\nend\n"


@pytest.mark.parametrize("platform", catalogue.names())
def test_a_secret_that_is_also_a_name_does_not_destroy_what_is_read(platform: str):
    """Each name that is read of the made-up devices is tried as a secret: what is read stays the same."""
    for site in (conforming(name) for name in _sites_with(platform)):
        for device, entry in site.plan.data.devices.items():
            if entry.platform != platform:
                continue
            files = site.capture(device).files  # type: ignore[union-attr]
            before = read(platform, files)
            names = [before.state.hostname, *before.state.ssids, *before.state.ports]
            names += [vlan.name for vlan in before.state.vlans.values()]
            after = read(platform, without_secrets(platform, files, secrets=[name for name in names if name]))
            assert after.state == before.state
            assert after.problem == before.problem
            assert [q.line for q in after.quoted_not_understood()] == [q.line for q in before.quoted_not_understood()]


def _sites_with(platform: str) -> list[str]:
    names = ["quarry-road", "harbour-bakery", "fernhill-guesthouse", platform]
    return [name for name in names if name != platform or (name in ("fortinet", "vyos", "arista_eos"))]


def test_a_passphrase_that_is_a_vlans_name_stays_comparable():
    text = (
        "vlan 10\n name wonderland\ndot11 ssid wonderland\n   vlan 10\n   authentication key-management wpa version 2\n"
        "   wpa-psk ascii 0 wonderland\ninterface Dot11Radio0\n ssid wonderland\nend\n"
    )
    shown = kept("cisco_ios", text, "wonderland")
    assert " name wonderland" in shown
    assert "ascii 0 wonderland" not in shown
    reading = read("cisco_ios", [CaptureFile("x", shown.encode())])
    assert reading.state == read("cisco_ios", [CaptureFile("x", text.encode())]).state
    assert passphrase.matches("wonderland", "wonderland", reading.passphrases["wonderland"]) is True


def with_banner(site: Site) -> Site:
    """Return the clinic with its guests' passphrase in a banner of core1 and in an unknown line."""
    banner = f"\nbanner motd ^C\nGuests: {WORDS}\n^C\nend\n"
    text = edited(site.text(CORE), END, banner)
    return site.having(
        CORE, edited(text, " switchport", f" frobnicate {WORDS}\n switchport", below="interface GigabitEthernet1/0/5")
    )


def test_planned_passphrases_are_those_that_the_environment_holds():
    plan = conforming("quarry-road").plan
    assert planned_secrets(plan, PASSPHRASES) == {WORDS}
    assert planned_secrets(plan, {}) == frozenset()


def test_a_planned_passphrase_is_in_no_report_whether_evidence_is_written_or_not():
    site = with_banner(conforming("quarry-road"))
    reports = [
        audit(site.plan, source, today=TODAY, environment=PASSPHRASES)
        for source in (Guarded(site.plan, site, PASSPHRASES), Recorded(site.plan, site, PASSPHRASES))
    ]
    for report in reports:
        assert WORDS not in report.model_dump_json()
        (line,) = [line for device in report.devices for line in device.not_understood]
        assert line.text.strip() == f"frobnicate {REDACTED}"
        assert not [finding for finding in report.findings if "passphrase" in finding.setting]
        assert not [item for item in report.unverified if "passphrase" in item.setting]
    assert WORDS.encode() not in evidence(site)


def test_a_capture_without_any_stays_as_it_is():
    site = conforming("quarry-road")
    assert Guarded(site.plan, site, PASSPHRASES).capture("core1") == site.capture("core1")


def test_a_reason_and_a_note_hold_none():
    class Broken:
        def capture(self, device: str) -> Captured | NotCaptured:
            return NotCaptured(f"it said {WORDS!r}") if device == "core1" else Captured([], (f"it said {WORDS}",))

    site = conforming("quarry-road")
    for source in (Guarded(site.plan, Broken(), PASSPHRASES), Recorded(site.plan, Broken(), PASSPHRASES)):
        assert source.capture("core1") == NotCaptured(f"it said '{REDACTED}'")
        assert source.capture("gw1") == Captured([], (f"it said {REDACTED}",))


def test_what_a_device_prints_of_the_passwords_that_opened_it_is_not_kept(devices: Lab, tmp_path: Path):
    text = edited(ANSWERS["show running-config"], END, f"\nbanner motd ^C\n{PASSWORD} and {ENABLE}\n^C\nend\n")
    text = edited(text, " switchport", f" frobnicate {PASSWORD}\n switchport", below="interface GigabitEthernet1/0/5")
    way = way_to(devices, Shell(answers={**ANSWERS, "show running-config": text}), tmp_path)
    job = replace(way.job(), secrets=frozenset({PASSWORD, ENABLE}))
    result = CaptureRun(QUICK).run([job])["site", "core1"]
    assert isinstance(result.captured, Captured)
    for file in result.captured.files:
        assert PASSWORD.encode() not in file.data
        assert ENABLE.encode() not in file.data
    reading = read("cisco_ios", result.captured.files)
    assert [line.text.strip() for line in reading.quoted_not_understood()] == [f"frobnicate {REDACTED}"]


def test_a_reason_why_a_device_was_not_read_holds_none_of_its_secrets(devices: Lab, tmp_path: Path):
    def refused(_: float) -> None:
        raise OSError(f"the proxy said: {PASSWORD} is wrong")

    way = way_to(devices, Shell(), tmp_path)
    job = replace(way.job(), secrets=frozenset({PASSWORD}))
    told: list[str] = []
    job = replace(job, target=replace(job.target, connect=refused))
    CaptureRun(QUICK, lambda result: told.append(repr(result))).run([job])
    assert len(told) == 1
    assert PASSWORD not in told[0]


def test_the_secrets_of_a_device_are_those_that_were_given_out_for_it():
    environment = {"AUDITOR_PASSWORD": "one of many", "AUDITOR_ENABLE_CORE1": "another one", "AUDITOR_USER": "jo"}
    wallet = Wallet("QRC-01", environment)
    assert wallet.given == set()
    wallet.of("gw1")
    wallet.of("core1")
    assert wallet.given == {"one of many", "another one"}


def test_a_live_capture_knows_its_passwords_and_the_planned_passphrases(devices: Lab, tmp_path: Path):
    text = edited(ANSWERS["show running-config"], END, f"\nbanner motd ^C\n{PASSWORD} {WORDS}\n^C\nend\n")
    way = way_to(devices, Shell(answers={**ANSWERS, "show running-config": text}), tmp_path)
    config = tmp_path / "config"
    config.write_text(f"Host 10.40.99.2\n  HostName 127.0.0.1\n  Port {way.port}\n")
    environment = {**PASSPHRASES, "AUDITOR_USER": "technician", "AUDITOR_PASSWORD": PASSWORD, "AUDITOR_ENABLE": ENABLE}
    plan = conforming("quarry-road").plan
    captured_sites = capture([plan], Access(config, way.known, frozenset(), environment), QUICK, only=["core1"])
    found = captured_sites.of(plan).capture("core1")
    assert isinstance(found, Captured)
    data = b"".join(file.data for file in found.files)
    assert b"banner motd" in data
    assert PASSWORD.encode() not in data
    assert WORDS.encode() not in data


def test_a_sentence_without_known_secrets():
    known = KnownSecrets([SECRET, "abc", "lower", WORDS])
    assert (
        known.without(f"it refused {SECRET}: lower, slower, {WORDS}")
        == f"it refused {REDACTED}: {REDACTED}, slower, {REDACTED}"
    )
    assert QuotedLine(file="x", line=1, text=known.without("abc")).text == "abc"
