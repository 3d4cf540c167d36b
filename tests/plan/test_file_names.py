"""Names of devices as names of files: refused where any operating system would take one for something else."""

from __future__ import annotations

import pytest

from auditor.plan.file_names import same_file, unusable

RESERVED = ["con", "prn", "aux", "nul", *(f"{port}{number}" for port in ("com", "lpt") for number in range(1, 10))]
"""Source: Microsoft, "Naming Files, Paths, and Namespaces" (from memory)."""


@pytest.mark.parametrize("name", RESERVED)
def test_a_reserved_name_is_refused_in_any_case_and_with_any_ending(name: str):
    for spelt in (name, name.upper(), name.title(), f"{name}.cfg", f"{name}.tar.gz", f"{name}."):
        assert "reserved name on Windows" in unusable(spelt)
    for other in (f"{name}x", f"x{name}", f"{name}-1", f"sw.{name}"):
        assert not unusable(other)


@pytest.mark.parametrize("sign", [*'<>:"/\\|?*', *map(chr, range(32))])
def test_a_reserved_sign_is_refused(sign: str):
    assert "must not have" in unusable(f"a{sign}b")


def test_what_windows_leaves_out_at_the_end_is_refused():
    assert "must not end in" in unusable("sw1.")
    assert "must not end in" in unusable("sw1 ")
    assert not unusable("sw1.floor2")


@pytest.mark.parametrize(
    ("one", "other"), [("gw1", "GW1"), ("kühl", "ku\u0308hl"), ("KÜHL", "ku\u0308hl"), ("straße", "STRASSE")]
)
def test_names_that_are_one_file_somewhere(one: str, other: str):
    assert same_file(one) == same_file(other)
    assert same_file(one) != same_file(f"{other}1")
