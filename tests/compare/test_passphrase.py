"""Passphrases: the published derivations, every form in which a device stores one, and that none is ever shown."""

from __future__ import annotations

import json
import shutil
import subprocess

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.app.auditing import audit
from auditor.app.verifying import verify
from auditor.areas import read
from auditor.capture.interface import Captured
from auditor.compare.passphrase import matches
from auditor.passphrases import StoredPassphrase, derived_key
from auditor.plan.loader import parse
from auditor.reading.source import CaptureFile
from auditor.reports import FORMATS
from tests.compare.site import PASSPHRASES, conforming
from tests.effort import amount
from tests.evidence.made import evidence, manifest_with

pytestmark = pytest.mark.filterwarnings("ignore:'crypt' is deprecated:DeprecationWarning")
"""netutils.password imports it where Python still has it; the reader of type 7 is the only one who needs that."""

VECTORS = [
    ("password", "IEEE", "f42c6fc52df0ebef9ebb4b90b38a5f902e83fe1b135a70e23aed762e9710a12e"),
    ("ThisIsAPassword", "ThisIsASSID", "0dc0d6eb90555ed6419756b9a15ec3e3209b63df707dd508d14581f8982721af"),
    ("a" * 32, "Z" * 32, "becb93866bb8c3832cb777c2f559807c8c59afcb6eae734885001300a981cc62"),
]
"""IEEE 802.11i-2004, annex H.4: test vectors of the passphrase mapping. From memory, and as wpa_passphrase says."""
TYPE_7 = [
    "0822455D0A16", "070C285F4D06", "121A0C041104", "110A1016141D", "060506324F41", "02050D480809", "13061E010803",
    "094F471A1A0A", "1511021F0725", "045802150C2E", "00071A150754", "14141B180F0B", "104D000A0618", "030752180500",
    "01100F175804", "05080F1C2243",
]  # fmt: skip
"""The word "cisco" hidden with the first sixteen seeds, as published many times. From memory."""
PRINTABLE = st.text(st.characters(min_codepoint=32, max_codepoint=126), min_size=8, max_size=63)
"""IEEE 802.11: a passphrase is 8 to 63 printable ASCII characters."""
KEY = VECTORS[0][2]


def plain(*texts):
    return [StoredPassphrase(text, "plain") for text in texts]


@pytest.mark.parametrize(("passphrase", "ssid", "key"), VECTORS)
def test_the_standard_vectors(passphrase, ssid, key):
    assert derived_key(passphrase, ssid) == key


@pytest.mark.skipif(not shutil.which("wpa_passphrase"), reason="Debian's wpasupplicant is not installed")
@settings(max_examples=amount(quick=4, ci=12, long=25))
@given(PRINTABLE, st.from_regex(r"[!-,.-~][!-~]{0,31}", fullmatch=True))
def test_keys_are_those_of_wpa_passphrase(passphrase, ssid):
    run = subprocess.run(["wpa_passphrase", ssid], input=f"{passphrase}\n", capture_output=True, text=True, check=True)
    assert f"\tpsk={derived_key(passphrase, ssid)}\n" in run.stdout


@pytest.mark.parametrize(
    ("planned", "stored", "verdict"),
    [
        ("bread and salt", plain("bread and salt"), True),
        ("bread and salt", plain("Bread and salt"), False),
        ("bread and salt", plain("bread and salt "), False),
        ("password", plain(KEY), True),
        ("password", plain(KEY.upper()), True),
        ("Password", plain(KEY), False),
        ("password", plain(KEY[:-1] + "0"), False),
        # both are keys already
        (KEY, plain(KEY), True),
        (KEY, plain(KEY.upper()), True),
        (KEY.upper(), plain(KEY), True),
        # the plan's side holds the key, the device the words that it is made of
        (KEY, plain("password"), True),
        (KEY, plain("passwort"), False),
        # 63 hexadecimal digits are a passphrase, no key
        (KEY[:63], plain(KEY[:63]), True),
        ("nur für Gäste", plain("nur für Gäste"), True),
        ("password", [StoredPassphrase("$9$xyz", "irreversible")], None),
        ("password", [StoredPassphrase("", "hidden")], None),
        ("password", [], None),
    ],
)
def test_each_form_has_its_verdict(planned, stored, verdict):
    assert matches(planned, "IEEE", stored) is verdict


@pytest.mark.parametrize("hidden", TYPE_7)
def test_type_7_is_no_secret(hidden):
    assert matches("cisco", "Mill Guest", [StoredPassphrase(hidden, "type7")]) is True
    assert matches("crisco", "Mill Guest", [StoredPassphrase(hidden, "type7")]) is False


@pytest.mark.parametrize("damaged", ["", "0", "08", "0822455D0A1", "08ZZ", "ZZ22455D0A16", "08 22455D0A16", "x"])
def test_a_damaged_type_7_text_tells_nothing(damaged):
    assert matches("cisco", "Mill Guest", [StoredPassphrase(damaged, "type7")]) is None


def test_a_key_hidden_as_type_7_is_a_key():
    key = "dsfd;kfoA,.iyewrkldJKDHSUBsgvca69834ncxv9873254k;fg87"
    hidden = "04" + "".join(f"{ord(c) ^ ord(key[(4 + i) % len(key)]):02X}" for i, c in enumerate(KEY))
    assert matches("password", "IEEE", [StoredPassphrase(hidden, "type7")]) is True


@pytest.mark.parametrize(
    ("stored", "verdict"),
    [
        (plain("oat cakes", "oat cakes"), True),
        (plain("oat cakes", "old cakes"), False),
        ([*plain("oat cakes"), StoredPassphrase("", "hidden")], None),
        ([StoredPassphrase("", "hidden"), *plain("old cakes")], False),
        (plain("oat cakes", derived_key("oat cakes", "Mill Guest")), True),
    ],
)
def test_one_radio_that_differs_decides_and_one_that_hides_leaves_it_open(stored, verdict):
    assert matches("oat cakes", "Mill Guest", stored) is verdict


@settings(max_examples=amount(quick=4, ci=10, long=20))
@given(PRINTABLE, PRINTABLE, st.text(min_size=1, max_size=8).filter(lambda s: 1 <= len(s.encode()) <= 32))
def test_a_derived_key_matches_its_own_passphrase_only(one, other, ssid):
    assert matches(one, ssid, plain(derived_key(one, ssid))) is True
    if one != other:
        assert matches(other, ssid, plain(derived_key(one, ssid))) is False


def test_a_planned_passphrase_that_is_no_utf8_text_is_a_mismatch():
    """An environment variable may hold any bytes; Python keeps those that are no UTF-8 as lone surrogates."""
    assert matches("caf\udce9 au lait", "Mill Guest", plain("café au lait")) is False
    assert matches("caf\udce9 au lait", "IEEE", plain(KEY)) is False


SECRET = "sourdough-at-dawn"
PLAN = """format: 1
site: Mill Lane Bakery
subnets: {guest: {vlan: 40, prefix: 10.20.40.0/24}}
wifi: {Mill Guest: {subnet: guest, security: wpa2-personal, passphrase: {env: MILL_GUEST}, on: [ap1]}}
devices: {ap1: {role: ap, platform: PLATFORM}}
"""
OPENWRT = f"""config wifi-device 'radio0'
\toption band '2g'
config wifi-iface 'guest'
\toption device 'radio0'
\toption network 'guest'
\toption mode 'ap'
\toption ssid 'Mill Guest'
\toption encryption 'psk2'
\toption key '{SECRET}'
\toption key '{SECRET}' and something that nobody understands
"""
ROUTEROS = f"""# by RouterOS 6.49.10
/interface wireless security-profiles
add authentication-types=wpa2-psk mode=dynamic-keys name=guest wpa2-pre-shared-key="{SECRET}"
/interface wireless
set [ find default-name=wlan1 ] disabled=no mode=ap-bridge security-profile=guest ssid="Mill Guest" odd="x
"""
IOS = f"""hostname ap1
dot11 ssid Mill Guest
   vlan 40
   authentication key-management wpa version 2
   wpa-psk ascii 0 {SECRET}
   wpa-psk ascii 0 {SECRET} 12 13
interface Dot11Radio0
 ssid Mill Guest
end
"""
CAPTURES = [("openwrt", "wireless", OPENWRT), ("mikrotik_routeros", "ap1.rsc", ROUTEROS), ("cisco_ios", "ap1.cfg", IOS)]


@pytest.mark.parametrize(("platform", "name", "text"), CAPTURES)
def test_what_is_read_of_a_passphrase_never_shows_itself(platform, name, text):
    reading = read(platform, [CaptureFile(name, text.encode())])
    (stored,) = reading.passphrases["Mill Guest"]
    assert SECRET in stored.text
    assert SECRET not in repr(reading.passphrases)
    assert SECRET not in json.dumps(reading.state.as_json())
    assert SECRET not in str([quoted for quoted, _ in reading.remarked()] + reading.quoted_not_understood())


@pytest.mark.parametrize(
    ("platform", "name", "line", "form"),
    [
        ("cisco_ios", "ap1.cfg", "wpa-psk ascii 0 oat cakes", "plain"),
        ("cisco_ios", "ap1.cfg", "wpa-psk ascii oat cakes", "plain"),
        ("cisco_ios", "ap1.cfg", f"wpa-psk hex 0 {KEY}", "plain"),
        ("cisco_ios", "ap1.cfg", "wpa-psk ascii 7 0822455D0A16", "type7"),
        ("cisco_ios", "ap1.cfg", "authentication open", "hidden"),
        ("openwrt", "wireless", "option key 'oat cakes'", "plain"),
        ("openwrt", "wireless", f"option key '{KEY}'", "plain"),
        ("openwrt", "wireless", "option key '<hidden>'", "hidden"),
        ("openwrt", "wireless", "option hidden '0'", "hidden"),
        ("mikrotik_routeros", "ap1.rsc", 'wpa2-pre-shared-key="oat cakes"', "plain"),
        ("mikrotik_routeros", "ap1.rsc", 'wpa2-pre-shared-key="****"', "hidden"),
        ("mikrotik_routeros", "ap1.rsc", "group-ciphers=aes-ccm", "hidden"),
    ],
)
def test_the_form_of_a_stored_passphrase_is_told_by_its_line(platform, name, line, form):
    text = {
        "cisco_ios": f"dot11 ssid Mill Guest\n {line}\ninterface Dot11Radio0\n ssid Mill Guest\nend\n",
        "openwrt": f"config wifi-iface\n option mode 'ap'\n option ssid 'Mill Guest'\n {line}\n",
        "mikrotik_routeros": f"/interface wireless security-profiles\nadd name=guest {line}\n/interface wireless\n"
        'set [ find default-name=wlan1 ] mode=ap-bridge security-profile=guest ssid="Mill Guest"\n',
    }
    (stored,) = read(platform, [CaptureFile(name, text[platform].encode())]).passphrases["Mill Guest"]
    assert stored.form == form


class _Saved:
    def __init__(self, name: str, data: bytes) -> None:
        self._file = CaptureFile(name, data)

    def capture(self, device: str) -> Captured:
        return Captured([self._file])


@pytest.mark.parametrize(("platform", "name", "text"), CAPTURES)
@pytest.mark.parametrize("planned", [SECRET, "rye-at-dusk-is-planned"])
def test_no_report_holds_a_passphrase(platform, name, text, planned):
    plan = parse("plan.yaml", PLAN.replace("PLATFORM", platform).encode())
    report = audit(plan, _Saved(name, text.encode()), max_age=None, environment={"MILL_GUEST": planned})
    assert "Mill Guest" in report.model_dump_json()
    for secret in (SECRET, planned):
        assert secret not in report.model_dump_json()
        assert secret not in repr(report)


def test_an_ssid_in_escaped_octets_is_the_name_that_it_spells():
    """IEEE 802.11: an SSID is octets. An export writes those that are no ASCII as backslash and two digits."""
    text = '/interface wifi\nset [ find default-name=wifi1 ] configuration.mode=ap configuration.ssid="Caf\\C3\\A9 1"\n'
    assert list(read("mikrotik_routeros", [CaptureFile("ap1.rsc", text.encode())]).state.ssids) == ["Café 1"]


@pytest.mark.parametrize(("octets", "good"), [(1, True), (31, True), (32, True), (33, False)])
@pytest.mark.parametrize("letter", ["a", "é"])
def test_an_ssid_has_at_most_32_octets(octets, good, letter):
    """IEEE 802.11: an SSID has 0 to 32 octets; none at all is the wildcard, which no network can be called by."""
    from auditor.errors import PlanError  # noqa: PLC0415 - used here alone

    letters, rest = divmod(octets, len(letter.encode()))
    text = PLAN.replace("Mill Guest:", f"{letter * letters + 'b' * rest}:").replace("PLATFORM", "openwrt")
    if good:
        assert parse("plan.yaml", text.encode())
    else:
        with pytest.raises(PlanError, match="1 to 32 octets"):
            parse("plan.yaml", text.encode())


def verdict_with(held: str) -> tuple[list[str], list[tuple[str, str]], bool]:
    """Return the passphrases of the clinic that are wrong or not given, where the environment holds a text."""
    report = conforming("quarry-road").report(environment={"QUARRY_GUEST": held})
    wrong = [f.setting for f in report.findings if f.setting.endswith("passphrase_matches")]
    return wrong, [(item.cause, item.why) for item in report.unverified if item.cause == "not-given"], report.complete


@pytest.mark.parametrize("end", ["", "\n", "\r\n"])
def test_one_line_end_behind_a_passphrase_is_none_of_it(end: str):
    assert verdict_with(f"{PASSPHRASES['QUARRY_GUEST']}{end}") == ([], [], True)


@pytest.mark.parametrize(
    "held", ["seven77", "x" * 64, "otters are wélcome here", "otters\tare welcome", "eight 88\n\n"]
)
def test_what_no_passphrase_can_be_is_not_given_and_no_outage(held: str):
    wrong, missing, complete = verdict_with(held)
    assert (wrong, complete, len(missing)) == ([], False, 2)
    assert all("what QUARRY_GUEST holds can be none; set it to 8 to 63 " in why for _, why in missing)
    assert held not in str(missing)


def test_evidence_holds_that_it_could_be_none():
    data = evidence(conforming("quarry-road"), {"QUARRY_GUEST": "short"}, formats=FORMATS[:1])
    assert verify(data, PASSPHRASES).exit_code == verify(data, {}).exit_code == 0
    assert verify(manifest_with(data, unusable=[]), {}).exit_code == 1
    assert verify(manifest_with(data, unusable=["HOME"]), {}).exit_code == 1
