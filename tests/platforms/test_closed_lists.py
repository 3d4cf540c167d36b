"""Lines that are known and not read stand in closed lists: no list takes in a key that nobody has thought of."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest

from auditor.platforms import catalogue
from auditor.platforms.definition import Platform, SectionRule

PLATFORMS = catalogue.names()

INVENTED = [
    *("zorple", "zorple 1", "zorple zorple 1", "no zorple", "no zorple 1", "zorple=1", "zorple=zorple", "@zorple=1"),
    *(
        "/zorple add",
        "/zorple set",
        "/interface zorple add",
        "/ip zorple set",
        "/system zorple",
        "zorple zorple.zorple",
    ),
    *("set zorple 1", "config zorple", "unset zorple", "option zorple 1", "list zorple 1", "zorple { }"),
]
"""Lines with a key, a section or a branch that no dialect has, in every syntax. One that overrides is never silent."""


def listed(platform: Platform) -> Iterator[tuple[str, str]]:
    """Yield the patterns of a platform's closed lists with where they stand."""
    parts: list[Platform | SectionRule] = [platform, *platform.every_section]
    for part in parts:
        where = part.template if isinstance(part, SectionRule) else "sections"
        lists = [("harmless", part.harmless), ("limits", part.limits)]
        lists += [("blocks", part.blocks)] if isinstance(part, SectionRule) else [("outside", part.outside)]
        for name, reasons in lists:
            for patterns in reasons.values():
                yield from ((f"{where}: {name}", pattern) for pattern in patterns)
        for overriding in part.overriding:
            yield from ((f"{where}: overriding", pattern) for pattern in overriding.lines)


@pytest.mark.parametrize("name", PLATFORMS)
def test_no_list_takes_in_what_nobody_has_thought_of(name: str):
    wide = [
        f"{where}: {pattern}"
        for where, pattern in listed(catalogue.get(name))
        if re.search(r"(?<!=)\(\?!", pattern)
        or (any(re.fullmatch(pattern, line, re.IGNORECASE) for line in INVENTED) and "overriding" not in where)
    ]
    assert wide == []


@pytest.mark.parametrize("name", PLATFORMS)
def test_every_list_says_why(name: str):
    platform = catalogue.get(name)
    parts: list[Platform | SectionRule] = [platform, *platform.every_section]
    for part in parts:
        reasons = [*part.harmless, *part.limits, *(each.why for each in part.overriding)]
        reasons += part.blocks if isinstance(part, SectionRule) else part.outside
        assert all(len(reason) > 2 for reason in reasons), reasons
        assert all(each.bears_on for each in part.overriding)
