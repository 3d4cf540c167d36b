"""Captures and plans with random faults are read and audited without an exception: what is not understood is told."""

from __future__ import annotations

import itertools
import random

import pytest

from auditor.platforms import catalogue
from tests.compare.mutated import mutated, sites, tries
from tests.effort import amount

RUNS = amount(quick=20, ci=120, long=400)
SEEDS = range(2026, 2026 + amount(quick=1, ci=1, long=16))


@pytest.mark.parametrize("seed", SEEDS)
def test_faults_crash_nothing(seed):
    for what, work in itertools.islice(tries(random.Random(seed)), RUNS):
        try:
            work()
        except Exception as error:
            raise AssertionError(what) from error


def test_the_faults_are_the_same_for_the_same_seed_and_reach_every_platform():
    first, second = ([mutated(random.Random(seed), "a 1\nb 10.0.0.1 10.0.0.9\n") for seed in range(40)] for _ in "ab")
    assert first == second
    assert len(set(first)) > 30
    used = {device.platform for site in sites().values() for device in site.plan.data.devices.values()}
    assert used >= set(catalogue.names()) - {"aruba_osswitch"}
