"""The law ``read(render(state)) == state``, for each platform under generated states."""

from __future__ import annotations

import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from auditor.areas import read
from auditor.core.state import DeviceState
from auditor.platforms import catalogue
from auditor.platforms import render as rendering
from auditor.platforms.render import render
from auditor.reading.source import CaptureFile
from tests.effort import amount
from tests.platforms.states import Profile, profiles, states

EXAMPLES = amount(quick=12, ci=80, long=500)
PROFILES = profiles()
IDS = [f"{name}-{profile['role']}" for name, profile in PROFILES]


def back(platform: str, state: DeviceState, role: str) -> DeviceState:
    """Write a state and read it again; every line must be understood."""
    text = render(platform, state, role, dict.fromkeys(state.ssids, "not a secret"))
    reading = read(platform, [CaptureFile("running.cfg", text.encode())])
    assert not reading.problem
    assert [line.text for line in reading.quoted_not_understood()] == []
    assert reading.routing or len(state.gateways) < 2
    return reading.state


@pytest.mark.parametrize(("platform", "profile"), PROFILES, ids=IDS)
def test_what_is_written_is_read_again(platform: str, profile: Profile):
    @settings(max_examples=EXAMPLES, suppress_health_check=list(HealthCheck))
    @given(states(profile))
    def law(state: DeviceState):
        assert back(platform, state, profile["role"]) == state

    law()


@pytest.mark.parametrize(("platform", "profile"), PROFILES, ids=IDS)
@given(data=st.data())
@settings(max_examples=1, suppress_health_check=list(HealthCheck))
def test_a_broken_template_breaks_the_law(platform: str, profile: Profile, data: st.DataObject):
    """Change one number that a template writes, and the law must notice."""
    original = catalogue.template_text

    def broken(*parts: str) -> str:
        text = original(*parts)
        return re.sub(r"\{\{ (vid|wifi\.vlan) \}\}", "{{ 4001 }}", text) if parts[-1] == "expected.cfg.j2" else text

    rendering._environment.cache_clear()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(rendering, "template_text", broken)
        layer2_alone = profile["gateways"] == "none" and "ssids" not in profile
        state = data.draw(states(profile).filter(lambda s: s.vlans if layer2_alone else s.gateways or s.ssids))
        try:
            same = back(platform, state, profile["role"]) == state
        except AssertionError:  # a line that names what no line makes any more is not understood
            same = False
        assert not same
    rendering._environment.cache_clear()
