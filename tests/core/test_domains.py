"""Broadcast domains with and without a number, and sets of them in text."""

from __future__ import annotations

import pytest

from auditor.core.domains import Domain, domain, domains_text, in_order, numbers, parse_domains, unnumbered

SETS: list[tuple[str, set[Domain]]] = [
    ("", set()),
    ("10,20-22", {10, 20, 21, 22}),
    ("bridge br-lan", {"bridge br-lan"}),
    ("10,bridge br-iot,bridge br, the second", {10, "bridge br-iot", "bridge br, the second"}),
]


@pytest.mark.parametrize(("text", "domains"), SETS)
def test_a_set_is_written_numbers_first_and_read_again(text: str, domains: set[Domain]):
    assert parse_domains(text) == domains
    assert parse_domains(domains_text(domains)) == domains
    assert domains_text(domains).startswith(str(numbers(domains)))


def test_those_without_a_number_come_last():
    assert in_order(["bridge b", 20, "bridge a", 3, 20]) == [3, 20, "bridge a", "bridge b"]
    assert unnumbered(["bridge b", 20, None, "bridge b"]) == ["bridge b"]
    assert str(numbers(["bridge b", 20, None])) == "20"
    assert (domain("20"), domain("bridge 20")) == (20, "bridge 20")
