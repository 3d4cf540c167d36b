"""Wi-Fi names: security words, profiles, radios that disagree, what is on the air, and how passphrases are stored."""

from __future__ import annotations

from typing import Any

import pytest

from auditor.areas import Reading
from tests.reading.texts import ios, not_understood, routeros, state_of, uci

RADIO = "config wifi-device 'radio0'\n\toption band '2g'\n"


def wifi_of(option: str, radio: str = RADIO) -> dict[str, Any]:
    text = f"{radio}config wifi-iface\n\toption device 'radio0'\n\toption mode 'ap'\n\toption ssid 'T'\n{option}"
    reading = uci(text, "wireless")
    assert not_understood(reading) == []
    found: dict[str, Any] = state_of(reading)["ssids"]["T"]
    return found


@pytest.mark.parametrize(
    ("encryption", "security"),
    [
        ("none", "open"),
        ("owe", "enhanced-open"),
        ("psk", "wpa-personal"),
        ("psk+tkip", "wpa-personal"),
        ("psk2", "wpa2-personal"),
        ("psk2+ccmp", "wpa2-personal"),
        ("psk2+tkip+ccmp", "wpa2-personal"),
        ("psk-mixed", "wpa-wpa2-personal"),
        ("mixed-psk+ccmp", "wpa-wpa2-personal"),
        ("sae", "wpa3-personal"),
        ("sae-mixed", "wpa2-wpa3-personal"),
        ("wpa", "wpa-enterprise"),
        ("wpa2", "wpa2-enterprise"),
        ("wpa2+aes", "wpa2-enterprise"),
        ("wpa-mixed", "wpa-wpa2-enterprise"),
        ("wpa3", "wpa3-enterprise"),
        ("wpa3-192", "wpa3-enterprise"),
        ("wpa3-mixed", "wpa2-wpa3-enterprise"),
        ("wep", "wep"),
        ("wep+shared", "wep"),
        ("wep-open", "wep"),
    ],
)
def test_words_of_uci_for_security(encryption: str, security: str):
    # the "encryption" table of the OpenWrt user guide, from memory
    assert wifi_of(f"\toption encryption '{encryption}'")["security"] == security


def test_no_word_means_open_and_an_unknown_word_never_passes_for_planned():
    assert wifi_of("\toption isolate '0'")["security"] == "open"
    assert wifi_of("\toption encryption 'psk9'")["security"].startswith("unknown")


@pytest.mark.parametrize(
    ("band", "told"),
    [
        ("option band '2g'", "2.4"),
        ("option band '5g'", "5"),
        ("option band '6g'", "6"),
        ("option hwmode '11g'", "2.4"),
        ("option hwmode '11ng'", "2.4"),
        ("option hwmode '11b'", "2.4"),
        ("option hwmode '11a'", "5"),
        ("option hwmode '11na'", "5"),
    ],
)
def test_words_for_a_band(band: str, told: str):
    # IEEE 802.11: b and g are in the 2.4 GHz band, a is in the 5 GHz band
    assert wifi_of("\toption isolate '0'", f"config wifi-device 'radio0'\n\t{band}\n")["bands"] == [told]


@pytest.mark.parametrize(
    ("radio", "option", "enabled"),
    [
        ("", "\toption disabled '0'", True),
        ("", "\toption disabled '1'", False),
        ("\toption disabled '1'\n", "\toption disabled '0'", False),
        ("\toption disabled '0'\n", "\toption hidden '1'", True),
    ],
)
def test_a_name_is_on_the_air_if_it_and_its_radio_are_on(radio: str, option: str, enabled: bool):
    assert wifi_of(option, RADIO + radio)["enabled"] is enabled


@pytest.mark.parametrize("device", ["\toption device 'radio7'\n", ""])
def test_a_name_whose_radio_is_not_there_is_not_on_the_air(device: str):
    text = f"{RADIO}config wifi-iface\n{device}\toption mode 'ap'\n\toption ssid 'T'"
    assert state_of(uci(text, "wireless"))["ssids"]["T"]["enabled"] is False


@pytest.mark.parametrize("mode", ["sta", "adhoc", "mesh", "monitor"])
def test_only_an_access_point_airs_a_name(mode: str):
    reading = uci(
        f"{RADIO}config wifi-iface\n\toption device 'radio0'\n\toption mode '{mode}'\n\toption ssid 'T'", "wireless"
    )
    assert state_of(reading)["ssids"] == {}


AP = """\
dot11 ssid T
   vlan 7
   authentication open
{ssid}
interface Dot11Radio0
{radio}
 ssid T
interface Dot11Radio0.7
 encapsulation dot1Q 7
 bridge-group 7
{sub}
"""
WIRED = "interface GigabitEthernet0.7\n encapsulation dot1Q 7\n bridge-group 7\n"


AES = " encryption vlan 7 mode ciphers aes-ccm"


def aironet(ssid: str = "", radio: str = "", sub: str = "", wired: str = WIRED) -> dict[str, Any]:
    text = AP.format(ssid=ssid, radio=radio, sub=sub) + wired
    text = "\n".join(line for line in text.split("\n") if line.strip())
    reading = ios(text)
    assert not_understood(reading) == []
    found: dict[str, Any] = state_of(reading)["ssids"]["T"]
    return found


@pytest.mark.parametrize(
    ("lines", "security"),
    [
        ("", "open"),
        ("   authentication key-management wpa version 2\n   wpa-psk ascii 0 secretsecret", "wpa2-personal"),
        ("   authentication key-management wpa version 1\n   wpa-psk ascii secretsecret", "wpa-personal"),
        ("   authentication key-management wpa\n   wpa-psk ascii secretsecret", "wpa-wpa2-personal"),
        ("   authentication open eap m\n   authentication key-management wpa version 2", "wpa2-enterprise"),
        ("   authentication key-management wpa version 2\n   authentication open eap m", "wpa2-enterprise"),
        ("   authentication open eap m", "wep-enterprise"),
    ],
)
def test_lines_of_an_access_point_for_security(lines: str, security: str):
    radio = AES if "wpa" in lines else ""
    assert aironet(ssid=lines, radio=radio)["security"] == security


def test_hidden_off_and_isolated_on_an_access_point():
    assert aironet()["hidden"] is True
    assert aironet(ssid="   mbssid guest-mode")["hidden"] is True
    assert aironet(ssid="   mbssid guest-mode", radio=" mbssid")["hidden"] is False
    assert aironet(ssid="   guest-mode")["hidden"] is False
    assert aironet(radio=" shutdown")["enabled"] is False
    assert aironet()["client_isolation"] is False
    assert aironet(sub=" bridge-group 7 port-protected")["client_isolation"] is True


WPA2 = "   authentication key-management wpa version 2\n   wpa-psk ascii 0 secretsecret"


@pytest.mark.parametrize(
    ("ssid", "radio", "security"),
    [
        (WPA2, "", "unknown (open wpa version 2,wpa-psk)"),
        (WPA2, " encryption vlan 8 mode ciphers aes-ccm", "unknown (open wpa version 2,wpa-psk)"),
        (WPA2, " encryption vlan 7 mode ciphers tkip", "unknown (open mode ciphers tkip,wpa version 2,wpa-psk)"),
        (
            WPA2,
            " encryption vlan 7 mode ciphers aes-ccm tkip",
            "unknown (open mode ciphers aes-ccm tkip,wpa version 2,wpa-psk)",
        ),
        (WPA2, " encryption vlan 7 mode wep mandatory", "wep"),
        ("", " encryption vlan 7 mode wep mandatory", "wep"),
        (WPA2.replace("version 2", "version 2 optional"), AES, "open"),
    ],
)
def test_a_key_protects_only_with_a_cipher_for_its_vlan(ssid: str, radio: str, security: str):
    # from memory of the configuration guide: key management wants a cipher suite; "optional" lets others in, too
    assert aironet(ssid=ssid, radio=radio)["security"] == security


@pytest.mark.parametrize(
    ("sub", "wired", "vlan"),
    [
        ("", WIRED, 7),
        (" shutdown", WIRED, None),
        ("", "", None),
        ("", WIRED.replace("dot1Q 7", "dot1Q 8"), 8),
        ("", WIRED.replace("bridge-group 7", "bridge-group 8"), None),
        ("", WIRED + " shutdown", None),
        ("", WIRED + "interface GigabitEthernet0\n shutdown", 7),
    ],
)
def test_a_name_comes_out_where_its_bridge_group_leads(sub: str, wired: str, vlan: int | None):
    assert aironet(sub=sub, wired=wired)["vlan"] == vlan


def test_a_vlan_has_the_number_of_its_name():
    text = AP.format(ssid="", radio="", sub="").replace("vlan 7", "vlan seven", 1) + WIRED
    named = ios(f"dot11 vlan-name seven vlan 7\n{text}")
    assert state_of(named)["ssids"]["T"]["vlan"] == 7


WIFI = "/interface wifi\nset [ find default-name=wifi1 ] disabled=no configuration.mode=ap .ssid=T"
OLD = (
    "/interface wireless security-profiles\nadd {profile} name=p\n/interface wireless\n"
    "set [ find default-name=wlan1 ] band=2ghz-b/g/n disabled=no mode=ap-bridge security-profile=p ssid=T"
)


def old(profile: str, rest: str = "") -> dict[str, Any]:
    found: dict[str, Any] = state_of(routeros(OLD.format(profile=profile) + rest))["ssids"]["T"]
    return found


@pytest.mark.parametrize(
    ("types", "security"),
    [
        ("wpa-psk", "wpa-personal"),
        ("wpa2-psk", "wpa2-personal"),
        ("wpa-psk,wpa2-psk", "wpa-wpa2-personal"),
        ("wpa2-psk,wpa-psk", "wpa-wpa2-personal"),
        ('"wpa2-psk,wpa3-psk"', "wpa2-wpa3-personal"),
        ("wpa3-psk", "wpa3-personal"),
        ("owe", "enhanced-open"),
        ("wpa2-eap", "wpa2-enterprise"),
        ("wpa3-eap", "wpa3-enterprise"),
        ("wpa3-eap-192", "wpa3-enterprise"),
        ("wpa2-eap,wpa3-eap", "wpa2-wpa3-enterprise"),
        ('""', "open"),
    ],
)
def test_words_of_version_7_for_security(types: str, security: str):
    reading = routeros(f"{WIFI} security.authentication-types={types}")
    assert state_of(reading)["ssids"]["T"]["security"] == security
    assert not_understood(reading) == []


@pytest.mark.parametrize(
    ("profile", "security"),
    [
        ("mode=none", "open"),
        ("authentication-types=wpa2-psk mode=none", "open"),
        ("authentication-types=wpa2-psk mode=dynamic-keys", "wpa2-personal"),
        ("authentication-types=wpa-psk,wpa2-psk mode=dynamic-keys", "wpa-wpa2-personal"),
        ("authentication-types=wpa2-eap mode=dynamic-keys", "wpa2-enterprise"),
        ("mode=static-keys-required", "wep"),
    ],
)
def test_words_of_version_6_for_security(profile: str, security: str):
    assert old(profile)["security"] == security


def test_what_stands_at_the_interface_wins_over_its_profiles():
    profiles = (
        "/interface wifi security\nadd authentication-types=wpa2-psk name=s\n"
        "/interface wifi datapath\nadd name=d vlan-id=7\n"
        "/interface wifi configuration\nadd datapath=d mode=ap name=c security=s ssid=T hide-ssid=yes\n"
        "/interface wifi\n"
    )
    own = "security.authentication-types=wpa3-psk configuration.hide-ssid=no datapath.vlan-id=8"
    plain = state_of(routeros(f"{profiles}set [ find default-name=wifi1 ] configuration=c disabled=no"))["ssids"]["T"]
    changed = state_of(routeros(f"{profiles}set [ find default-name=wifi1 ] configuration=c disabled=no {own}"))[
        "ssids"
    ]["T"]
    assert (plain["security"], plain["vlan"], plain["hidden"]) == ("wpa2-personal", 7, True)
    assert (changed["security"], changed["vlan"], changed["hidden"]) == ("wpa3-personal", 8, False)


@pytest.mark.parametrize("profile", ["security", "datapath", "channel", "configuration"])
def test_a_profile_that_is_on_switches_no_interface_on(profile: str):
    text = f"/interface wifi {profile}\nadd disabled=no name=x\n"
    text += f"/interface wifi\nadd configuration.mode=ap .ssid=T name=w {profile}=x"
    assert state_of(routeros(text))["ssids"]["T"]["enabled"] is False


@pytest.mark.parametrize(("word", "enabled"), [("disabled=no", True), ("disabled=yes", False), ("", False)])
def test_a_virtual_access_point_is_off_unless_it_says_otherwise(word: str, enabled: bool):
    virtual = f"\nadd {word} master-interface=wlan1 name=wlan2 security-profile=p ssid=V"
    assert state_of(routeros(OLD.format(profile="mode=none") + virtual))["ssids"]["V"]["enabled"] is enabled


def test_the_last_line_about_a_wifi_interface_wins():
    assert state_of(routeros(f"{WIFI}\nset wifi1 configuration.ssid=U"))["ssids"].keys() == {"U"}


def test_names_kept_by_a_manager_of_access_points_are_not_lost_silently():
    text = (
        "/caps-man security\nadd authentication-types=wpa2-psk name=s\n"
        "/caps-man configuration\nadd datapath.vlan-id=10 datapath.vlan-mode=use-tag name=c security=s ssid=Copse\n"
        "/caps-man provisioning\nadd action=create-dynamic-enabled master-configuration=c\n/system identity\nset name=x"
    )
    reading = routeros(text)
    assert "Copse" in reading.state.ssids or not_understood(reading) or "ssids" in {str(s) for s in reading.not_shown}


def wireless(text: str) -> Reading:
    return uci(text, "wireless")


TYPE7 = "070320425A0C0B0B04520402443E2321682220230A"


@pytest.mark.parametrize(
    ("read", "lines", "text", "form"),
    [
        (ios, "dot11 ssid T\n wpa-psk ascii 0 plain words", "plain words", "plain"),
        (ios, "dot11 ssid T\n wpa-psk ascii plainwords", "plainwords", "plain"),
        (ios, f"dot11 ssid T\n wpa-psk ascii 7 {TYPE7}", TYPE7, "type7"),
        (ios, "dot11 ssid T\n wpa-psk ascii 7 <removed>", "<removed>", "hidden"),
        (ios, "dot11 ssid T\n vlan 1", "", "hidden"),
        (routeros, f'{WIFI} security.passphrase="a b=\\"c\\""', 'a b="c"', "plain"),
        (routeros, f"{WIFI} security.authentication-types=wpa2-psk", "", "hidden"),
        (
            wireless,
            f"{RADIO}config wifi-iface\n\toption ssid 'T'\n\toption key 'it'\\''s # one'",
            "it's # one",
            "plain",
        ),
        (
            wireless,
            f"{RADIO}config wifi-iface\n\toption ssid 'T'\n\toption key '********'",
            "********",
            "hidden",
        ),
        (
            wireless,
            f"{RADIO}config wifi-iface\n\toption ssid 'T'\n\toption key '${{SECRET}}'",
            "${SECRET}",
            "hidden",
        ),
    ],
)
def test_a_passphrase_is_kept_as_it_is_stored_and_never_printed(read: Any, lines: str, text: str, form: str):
    found = read(lines).passphrases["T"]
    assert [(each.text, each.form) for each in found] == [(text, form)]
    assert not text or text not in repr(found)
