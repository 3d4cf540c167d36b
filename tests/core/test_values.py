"""Durations, MAC addresses and DHCP option numbers."""

from __future__ import annotations

import netaddr  # type: ignore[import-untyped]
import pytest
from hypothesis import given
from hypothesis import strategies as st
from netutils.mac import mac_to_format
from pydantic import TypeAdapter, ValidationError

from auditor.core.values import INFINITE_SECONDS, duration_seconds, duration_text, mac_address
from auditor.plan.fields import OptionNumber


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("0s", 0),
        ("30m", 1800),
        ("12h", 43200),
        ("1d", 86400),
        ("1w", 604800),
        ("1d12h", 129600),
        ("1w2d3h4m5s", 788645),
        ("12H", 43200),
        (" 12h ", 43200),
        ("00:10:00", 600),
        ("1d 00:00:00", 86400),
        ("3d00:10:00", 259800),
        ("3600", 3600),
        (3600, 3600),
        ("infinite", 2**32 - 1),
    ],
)
def test_durations_in_every_spelling(text, seconds):
    """RFC 2131, section 3.3: a lease time is an unsigned number of 32 bits, and all ones stand for infinity."""
    assert duration_seconds(text) == seconds


@pytest.mark.parametrize(
    "text", ["", " ", "h", "12x", "1.5h", "-5", "1h30", "soon", "1:00", "12h and a bit", "1d-2h", -5]
)
def test_what_is_no_duration_is_refused(text):
    with pytest.raises(ValueError, match="is not a duration"):
        duration_seconds(text)


def test_a_lease_of_more_than_32_bits_is_refused():
    """RFC 2132, section 9.2: the lease time option has four octets."""
    with pytest.raises(ValueError, match="is not a duration"):
        duration_seconds(str(2**32))


@given(st.integers(0, 2**32 - 2))
def test_a_duration_survives_its_text(seconds):
    assert duration_seconds(duration_text(seconds)) == seconds


@given(st.integers(0, 400), st.integers(0, 23), st.integers(0, 59), st.integers(0, 59))
def test_clock_and_unit_spellings_mean_the_same(days, hours, minutes, seconds):
    by_clock = f"{days}d {hours:02}:{minutes:02}:{seconds:02}"
    assert duration_seconds(by_clock) == duration_seconds(f"{days}d{hours}h{minutes}m{seconds}s")


def test_what_never_ends_says_so():
    assert duration_text(INFINITE_SECONDS) == "infinite"
    assert duration_text(0) == "0s"


DOCUMENTATION = "00:00:5e:00:53:{:02x}"
"""RFC 7042, section 2.1.2: 00-00-5E-00-53-00 to 00-00-5E-00-53-FF are for documentation."""


@given(
    st.integers(0, 255),
    st.sampled_from(["MAC_COLON_TWO", "MAC_DASH_TWO", "MAC_DOT_FOUR", "MAC_NO_SPECIAL"]),
    st.booleans(),
)
def test_a_mac_address_in_every_spelling_of_a_reference_library(last, form, upper):
    """netutils.mac and netaddr write the same address."""
    mac = DOCUMENTATION.format(last)
    spelt = mac_to_format(mac, form)
    assert mac_address(spelt.upper() if upper else spelt) == mac
    assert netaddr.EUI(mac_address(spelt)) == netaddr.EUI(mac)


@given(
    st.integers(0, 2**48 - 1),
    st.sampled_from([netaddr.mac_cisco, netaddr.mac_unix_expanded, netaddr.mac_eui48, netaddr.mac_bare]),
)
def test_any_mac_address_as_netaddr_writes_it(number, dialect):
    eui = netaddr.EUI(number, version=48)
    eui.dialect = dialect
    assert int(mac_address(str(eui)).replace(":", ""), 16) == number


@pytest.mark.parametrize(
    "text",
    [
        "", "00:00:5e:00:53", "00:00:5e:00:53:1", "00:00:5e:00:53:01:02", "00:00:5e:00:53:0g", "0:0:5e:0:53:1",
        "00 00 5e 00 53 01", "192.0.2.1", "xxxx.xxxx.xxxx",
    ],
)  # fmt: skip
def test_what_is_no_mac_address_is_refused(text):
    with pytest.raises(ValueError, match="is not a MAC address"):
        mac_address(text)


@pytest.mark.parametrize(
    ("number", "good"), [(0, False), (1, True), (42, True), (254, True), (255, False), (-1, False), (256, False)]
)
def test_option_numbers_are_those_of_rfc_2132(number, good):
    """RFC 2132, sections 3.1 and 3.2: option 0 pads and option 255 ends the field; neither has a value."""
    adapter = TypeAdapter(OptionNumber)
    if good:
        assert adapter.validate_python(number) == number
    else:
        with pytest.raises(ValidationError):
            adapter.validate_python(number)
