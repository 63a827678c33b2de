"""Thresholds of fuel tanks."""

from __future__ import annotations

from dataclasses import replace

from sizing.conversions import GALLON_L
from sizing.finding import Severity
from sizing.tanks import counted_gal, is_bulk, needs_spill_plan, tank_findings
from tests.sizing.site_jobs import SET, codes


def gallons(*values):
    return [value * GALLON_L for value in values]


def test_the_bulk_threshold_counts_capacity():
    assert [is_bulk(tank) for tank in gallons(118.9, 119, 119.1)] == [False, False, True]


def test_small_shells_do_not_count_towards_a_spill_plan():
    assert counted_gal(gallons(54.9, 55, 300)) == 355
    assert counted_gal([]) == 0


def test_a_spill_plan_begins_above_its_sum():
    assert not needs_spill_plan(gallons(660, 660))
    assert needs_spill_plan(gallons(660, 661))


def test_a_small_tank_says_nothing():
    assert tank_findings(SET) == []


def test_a_large_tank_is_noted_and_many_are_warned_of():
    large = replace(SET, tank_l=700 * GALLON_L)
    assert codes(tank_findings(large)) == ["tank_threshold"]
    both = tank_findings(large, 2)
    assert [f.severity for f in both] == [Severity.NOTE, Severity.WARNING]
    assert "1,400 gal" in both[1].detail


def test_an_auxiliary_tank_counts_too():
    findings = tank_findings(SET, 1, gallons(1300))
    assert [f.severity for f in findings] == [Severity.WARNING]
    assert findings[0].evidence["limit_gal"] == 1320
