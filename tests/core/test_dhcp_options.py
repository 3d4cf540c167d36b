"""What a DHCP option says to clients by the form that it is sent in: RFC 2132, and RFC 5859 for option 150."""

from __future__ import annotations

import pytest

from auditor.core.dhcp_options import octets_in, sent_as, usual_form


@pytest.mark.parametrize(
    ("code", "value", "form"),
    [
        (42, "192.0.2.1", "address"),  # RFC 2132, 8.3: a list of addresses
        (66, "192.0.2.1", "text"),  # 9.4: a name, even where it looks like an address
        (150, "192.0.2.1,192.0.2.2", "address"),  # RFC 5859, 3
        (43, "0104c0a80101", "hex"),  # 8.4: octets of the vendor
        (252, "http://wpad.example/wpad.dat", "text"),  # not of the RFC: by its look
        (252, "192.0.2.1", "address"),
    ],
)
def test_the_form_is_told_by_the_number_or_else_by_the_look(code, value, form):
    assert usual_form(code, value) == form


@pytest.mark.parametrize(
    ("code", "value", "form", "told"),
    [
        (66, "boot.example", "", "boot.example"),
        (66, "boot.example", "text", "boot.example"),
        (66, "626f6f74", "hex", "boot"),
        (66, "192.0.2.1", "address", "address 192.0.2.1"),
        (150, "c0000201c0000202", "hex", "192.0.2.1,192.0.2.2"),
        (150, "c00002", "hex", "hex c00002"),
        (150, "192.0.2.1", "text", "text 192.0.2.1"),
        (43, "0104", "text", "text 0104"),
        (66, "not octets", "hex", "hex not octets"),
    ],
)
def test_a_value_in_another_form_is_another_value(code, value, form, told):
    assert sent_as(code, value, form) == told


@pytest.mark.parametrize(
    ("text", "digits"),
    [
        ("0x01AC", "01ac"),
        ("f104.0a09.0807", "f1040a090807"),
        ("01:ac:02", "01ac02"),
        ("192.0.2.1", "192.0.2.1"),
        ("10.20", "10.20"),
        ("boot.example", "boot.example"),
        ("MSFT 5.0", "MSFT 5.0"),
    ],
)
def test_octets_are_their_digits_however_they_are_written(text, digits):
    assert octets_in(text) == digits
