"""No secret leaves a reading: not as evidence, not as a line that nobody understood, not in what is printed."""

from __future__ import annotations

import pytest

from auditor.areas import Reading
from auditor.core.state import KEYED_AREAS, Setting, fields_of
from auditor.reports.reading import reading_json
from tests.reading.texts import IOS, ROUTEROS, UCI, reading_of

SECRET = "Hedgehog47"
RADIO = (
    "config wifi-device 'radio0'\n\toption band '2g'\nconfig wifi-iface\n\toption device 'radio0'\n\toption ssid 'T'\n"
)
WIRELESS = "/interface wireless\nset [ find default-name=wlan1 ] disabled=no mode=ap-bridge security-profile=p ssid=T\n"
PROFILE = "/interface wireless security-profiles\n"

TEXTS = [
    (IOS, f"enable secret 5 {SECRET}"),
    (IOS, f"username x privilege 15 secret 9 {SECRET}"),
    (IOS, f"snmp-server community {SECRET} RO"),
    (IOS, f"snmp-server host 192.0.2.5 version 2c {SECRET}"),
    (IOS, f"snmp-server host 192.0.2.5 {SECRET}"),
    (IOS, f"snmp-server user u g v3 auth sha {SECRET} priv aes 128 {SECRET}"),
    (IOS, f"ntp server 192.0.2.1 key 7\nntp authentication-key 7 md5 {SECRET} 7"),
    (IOS, f"dot11 ssid T\n vlan 5\n wpa-psk ascii 0 {SECRET}"),
    (IOS, f"dot11 ssid T\n vlan 5\n wpa-psk ascii 8 two words {SECRET}"),
    (IOS, f"interface Dot11Radio0\n ssid T\n    wpa-psk ascii {SECRET}"),
    (IOS, f"interface Dot11Radio0\n encryption key 1 size 40bit {SECRET} transmit-key"),
    (IOS, f"interface Vlan5\n ip address 10.0.0.1 255.255.255.0\n standby 1 authentication md5 key-string {SECRET}"),
    (IOS, f"interface Vlan5\n vrrp 1 address-family ipv4\n  authentication text {SECRET}"),
    (IOS, f"line vty 0 4\n password 0 {SECRET}\n transport input ssh"),
    (IOS, f"interface GigabitEthernet0/1\n ppp chap password 0 {SECRET}\n ip address dhcp"),
    (
        ROUTEROS,
        f"{PROFILE}add mode=dynamic-keys authentication-types=wpa2-psk name=p wpa2-pre-shared-key={SECRET}\n{WIRELESS}",
    ),
    (ROUTEROS, f"{PROFILE}add mode=static-keys-required name=p static-key-0={SECRET}\n{WIRELESS}"),
    (ROUTEROS, f'{PROFILE}add name=p wpa2-pre-shared-key=\\\n    "{SECRET[:4]}\\\n    {SECRET[4:]}"\n{WIRELESS}'),
    (ROUTEROS, f"{PROFILE}add mode=dynamic-keys name=p colour=blue mschapv2-password={SECRET}\n{WIRELESS}"),
    (
        ROUTEROS,
        f"/interface wifi\nset [ find default-name=wifi1 ] configuration.ssid=T .mode=ap security.passphrase={SECRET}",
    ),
    (ROUTEROS, f'/interface wifi\nadd configuration.ssid=T .mode=ap name=w security.ft=yes .passphrase="{SECRET}'),
    (ROUTEROS, f"/interface pppoe-client\nadd interface=ether1 name=p password={SECRET} user=u"),
    (ROUTEROS, f"/snmp\nset enabled=yes trap-community={SECRET}"),
    (ROUTEROS, f"/snmp community\nset [ find default=yes ] name={SECRET}"),
    (UCI, f"{RADIO}\toption encryption 'psk2'\n\toption key '{SECRET}'"),
    (UCI, f"{RADIO}\toption encryption 'psk2'\n\toption 'key' '{SECRET}"),
    (UCI, f"{RADIO}\toption encryption 'psk2'\n\toption key {SECRET} more words"),
    (UCI, f"{RADIO}\tkey '{SECRET}'"),
    (UCI, f"{RADIO}\toption  key '{SECRET}' 'twice'"),
    (UCI, f"{RADIO}\tlist sae_password '{SECRET}' 'x'"),
    (UCI, f"{RADIO}\toption encryption 'wep'\n\toption key '1'\n\toption key1 's:{SECRET}"),
    (UCI, f"wireless.r=wifi-iface\nwireless.r.ssid='T'\nwireless.r.key='{SECRET}"),
    (UCI, f"config interface 'wan'\n\toption device 'eth0'\n\toption proto 'pppoe'\n\toption password '{SECRET}"),
]


def told(reading: Reading) -> str:
    """Return everything that a report could quote of a reading."""
    lines = [*reading.quoted_not_understood(), *(line for line, _ in reading.remarked())]
    settings = [Setting("hostname"), *(Setting("management", "", field) for field in fields_of("management"))]
    for area in KEYED_AREAS:
        settings += [
            Setting(area, str(key), field) for key in getattr(reading.state, area) for field in ("", *fields_of(area))
        ]
    lines += [line for setting in settings for line in reading.evidence_of(setting)]
    return reading_json(reading) + "\n".join(line.text for line in lines)


@pytest.mark.parametrize(("platform", "text"), TEXTS, ids=[f"{p}-{n}" for n, (p, _) in enumerate(TEXTS)])
def test_a_secret_is_in_nothing_that_could_be_quoted(platform: str, text: str):
    end = "\nend\n" if platform == IOS else "\n"
    shown = told(reading_of(platform, f"{text}{end}", "wireless"))
    assert SECRET not in shown
    assert SECRET[4:] not in shown


@pytest.mark.parametrize(("platform", "text"), TEXTS, ids=[f"{p}-{n}" for n, (p, _) in enumerate(TEXTS)])
def test_a_secret_in_a_line_that_has_become_unreadable_is_not_quoted(platform: str, text: str):
    broken = "\n".join(f"{line} #!?" if SECRET[4:] in line else line for line in text.split("\n"))
    end = "\nend\n" if platform == IOS else "\n"
    assert SECRET[4:] not in told(reading_of(platform, broken + end, "wireless"))
