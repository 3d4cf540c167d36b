"""No piece asks for a name that nothing gives: what is seldom written is not first met on somebody's device."""

from __future__ import annotations

import re
from functools import cache

import pytest
from jinja2 import meta

from auditor.corrections import propose
from auditor.platforms import render
from auditor.platforms.pieces import pieces_of
from tests.corrections.proof import PLATFORMS, drift, names

SET = re.compile(r"\{% set ([\w, ]+?) (?:=|%)")
LEFT_TO_PLATFORMS = {"reservation", "uplink_address"}
"""Macros that shared pieces call: a platform that does not use these pieces has none."""


@cache
def given(platform: str) -> frozenset[str]:
    """Return what a template of a platform gets."""
    found: set[str] = set()

    def seen(_platform, _file, values):
        found.update(values)
        return []

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(propose, "render_lines", seen)
        for name in names():
            if (case := drift(name)).platform == platform and case.site.report().findings and found:
                break
    return frozenset(found)


@pytest.mark.parametrize("platform", PLATFORMS)
def test_every_name_in_a_platforms_pieces_is_given_or_set(platform):
    source = pieces_of(platform).source
    whole, *entries = re.split(r"(?={% if entry == )", source)
    known = (
        given(platform)
        | set(render._environment().globals)
        | set(re.findall(r"{% macro (\w+)", whole))
        | LEFT_TO_PLATFORMS
    )
    known |= set(re.findall(r"^{% set (\w+) = ", whole, re.MULTILINE))
    for part in (*re.split(r"(?={% macro )", whole), *entries):
        own = {name.strip() for match in SET.finditer(part) for name in match[1].split(",")}
        assert meta.find_undeclared_variables(render._environment().parse(part)) - known - own == set(), part
