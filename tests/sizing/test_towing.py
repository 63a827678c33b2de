"""Towing by the customer, else delivery."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sizing.conversions import POUND_KG
from sizing.errors import OutsideTable
from sizing.requirement import Towing
from sizing.towing import gross_mass_kg, hitch_class, needs_brakes, tow_needs, towing_checks
from sizing.trace import Trace
from tests.sizing.site_jobs import SET, codes

READY = Towing(vehicle_rating_kg=3500.0, hitch_class=4, brake_controller=True)


def test_the_gross_mass_counts_a_full_tank():
    assert gross_mass_kg(SET) == pytest.approx(1500 + 400 * 0.85)


@pytest.mark.parametrize(
    ("pounds", "class_"), [(2000, 1), (2001, 2), (3500, 2), (5000, 3), (5001, 4), (10000, 4)]
)
def test_classes_end_at_their_weight(pounds, class_):
    assert hitch_class(pounds * POUND_KG) == class_


def test_above_the_last_class_nothing_is_said():
    with pytest.raises(OutsideTable, match="hitch_classes"):
        tow_needs(10_001 * POUND_KG)


@given(st.floats(1, 4500), st.floats(1, 4500))
def test_a_heavier_trailer_never_asks_for_less(some, more):
    light, heavy = (tow_needs(kg) for kg in sorted((some, more)))
    assert light.hitch_class <= heavy.hitch_class
    assert light.chains_break_kg <= heavy.chains_break_kg
    assert light.brakes <= heavy.brakes
    assert light.tongue_low_kg <= light.tongue_high_kg


def test_brakes_begin_over_three_thousand_pounds_and_bring_a_breakaway():
    light, heavy = tow_needs(3000 * POUND_KG), tow_needs(3001 * POUND_KG)
    assert (light.brakes, light.breakaway) == (False, False)
    assert (heavy.brakes, heavy.breakaway, heavy.ball) == (True, True, "2 in")
    assert needs_brakes(1500)


def test_a_set_to_be_delivered_is_not_checked():
    assert towing_checks(SET, None) == ((), [])


def test_a_fit_vehicle_tows():
    checks, findings = towing_checks(SET, READY)
    assert [c.name for c in checks] == ["vehicle_rating", "hitch_class", "brake_controller"]
    assert all(check.passed for check in checks)
    assert findings == []


def test_a_light_set_needs_no_brake_controller():
    light = replace(SET, dry_mass_kg=900.0)
    checks, findings = towing_checks(light, replace(READY, brake_controller=None))
    assert len(checks) == 2
    assert findings == []


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"vehicle_rating_kg": 1500.0}, "vehicle rating"),
        ({"hitch_class": 2}, "hitch class"),
        ({"brake_controller": None}, "brake controller"),
        ({"vehicle_rating_kg": None}, "vehicle rating"),
        ({"hitch_class": None}, "hitch class"),
    ],
)
def test_what_fails_or_was_not_said_means_delivery(change, words):
    checks, findings = towing_checks(SET, replace(READY, **change))
    assert codes(findings) == ["towing_limit"]
    assert f"towing: {words}." in findings[0].detail
    assert not any(check.binding for check in checks)


def test_a_set_beyond_every_hitch_is_delivered():
    checks, findings = towing_checks(replace(SET, dry_mass_kg=6000.0), READY)
    assert checks == ()
    assert "outside" in findings[0].detail


def test_the_trace_adds_fuel_to_the_dry_mass():
    trace = Trace()
    towing_checks(SET, READY, trace)
    assert "1500 kg + 400 L x 0.85 kg/L = 1840 kg" in trace.lines[0].line
