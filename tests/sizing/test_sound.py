"""Sound at the listener."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sizing.errors import OutsideTable
from sizing.finding import Severity
from sizing.sound import (
    level_at_dba,
    satisfying_distance_m,
    satisfying_level_7m_dba,
    sound_at,
    sound_check,
    sum_levels_dba,
)
from sizing.trace import Trace
from tests.sizing.site_jobs import PLAIN_SITE, SET, codes

LEVELS, DISTANCES = st.floats(50, 90), st.floats(1, 500)
COUNTS, BARRIERS = st.integers(1, 8), st.floats(0, 15)


def site(**changes):
    return replace(PLAIN_SITE, **changes)


@given(LEVELS, st.integers(1, 20))
def test_equal_sources_add_ten_log_of_their_number(level, count):
    assert sum_levels_dba([level] * count) == pytest.approx(sound_at(
        replace(SET, sound_dba_7m=level), 7.0, count))  # fmt: skip


@given(LEVELS, LEVELS)
def test_two_sources_are_louder_than_the_louder_by_three_at_most(one, other):
    both = sum_levels_dba([one, other])
    assert max(one, other) < both <= max(one, other) + 3.0103


def test_no_source_has_no_level():
    with pytest.raises(ValueError, match="math domain"):
        sum_levels_dba([])


@given(LEVELS, st.floats(30, 60), COUNTS, BARRIERS)
def test_the_distance_that_satisfies_just_satisfies(level, limit, count, barrier):
    set_ = replace(SET, sound_dba_7m=level)
    far = satisfying_distance_m(level, limit, count, barrier)
    assert sound_at(set_, far, count, barrier) == pytest.approx(limit) or far == 1.0


@given(st.floats(40, 80), DISTANCES, COUNTS, BARRIERS)
def test_the_level_that_satisfies_just_satisfies(limit, distance, count, barrier):
    level = satisfying_level_7m_dba(limit, distance, count, barrier)
    set_ = replace(SET, sound_dba_7m=level)
    assert sound_at(set_, distance, count, barrier) == pytest.approx(limit)


@given(DISTANCES, DISTANCES)
def test_farther_away_is_never_louder(some, more):
    near, far = sorted((some, more))
    assert sound_at(SET, near) >= sound_at(SET, far)


def test_right_beside_the_set_the_law_does_not_hold():
    for ask in (lambda: sound_at(SET, 0.5), lambda: satisfying_level_7m_dba(60, 0.5)):
        with pytest.raises(OutsideTable, match=r"0\.5 m"):
            ask()
    assert level_at_dba(70, 7, 1) == pytest.approx(86.9, abs=0.1)


def test_without_a_limit_nothing_is_checked():
    assert sound_check(SET, site(noise_distance_m=20.0)) == (None, [])


def test_a_limit_that_is_just_met_passes():
    check, findings = sound_check(SET, site(noise_limit_dba=70.0, noise_distance_m=7.0))
    assert check.passed
    assert findings == []


def test_a_limit_not_met_names_distance_quieter_set_and_barrier():
    check, findings = sound_check(SET, site(noise_limit_dba=65.0, noise_distance_m=10.0))
    assert not check.passed
    assert codes(findings) == ["noise_limit"]
    assert "12 m away" in findings[0].detail
    assert "68.1 dBA at 7 m" in findings[0].detail
    assert "a barrier of 1.9 dB" in findings[0].detail


def test_no_barrier_is_promised_beyond_what_barriers_reach():
    far = site(noise_limit_dba=50.0, noise_distance_m=7.0, barrier_db=5.0)
    assert "barrier" not in sound_check(SET, far)[1][0].detail


def test_a_limit_without_a_distance_is_checked_at_seven_metres_and_said():
    check, findings = sound_check(SET, site(noise_limit_dba=72.0))
    assert check.provided == pytest.approx(70)
    assert codes(findings) == ["noise_distance_assumed"]


def test_a_listener_beside_the_set_goes_to_a_person():
    check, findings = sound_check(SET, site(noise_limit_dba=72.0, noise_distance_m=0.3))
    assert check is None
    assert [(f.code, f.severity) for f in findings] == [("outside_table", Severity.NEEDS_PERSON)]


def test_the_trace_shows_the_substitution():
    trace = Trace()
    sound_check(SET, site(noise_limit_dba=60.0, noise_distance_m=14.0, barrier_db=5.0), 2, trace)
    assert trace.lines[0].line == "L = 70 - 20 log10(14.0 / 7) + 10 log10(2) - 5 = 62.0 dBA"
