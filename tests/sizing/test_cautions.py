"""General cautions, exhaust, grounding and the length of stay."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sizing.around import (
    around_checks,
    around_findings,
    later_by_months,
    openings_check,
    stays_too_long,
)
from sizing.cautions import cautions
from sizing.conversions import FOOT_M
from sizing.finding import Severity
from sizing.requirement import Hire, Towing
from sizing.trace import Trace
from tests.sizing.site_jobs import PLAIN_SITE, SET, codes, job


def test_the_cautions_name_what_kills_first():
    told = {caution.code: caution for caution in cautions()}
    assert {"backfeed", "carbon_monoxide", "cam_lock", "local_codes"} <= set(told)
    assert all(c.text.endswith(".") and c.source for c in told.values())
    assert "authority having jurisdiction" in told["local_codes"].text


def test_no_caution_speaks_of_a_plan_that_its_page_may_not_have():
    assert not [caution.code for caution in cautions() if "this plan" in caution.text.lower()]


@pytest.mark.parametrize(("feet", "passed"), [(19.9, False), (20, True), (100, True)])
def test_the_exhaust_keeps_its_distance(feet, passed):
    check, findings = openings_check(replace(PLAIN_SITE, openings_distance_m=feet * FOOT_M))
    assert check.passed is passed
    assert [f.severity for f in findings] == ([] if passed else [Severity.NEEDS_PERSON])


def test_an_unknown_distance_is_left_to_the_caution():
    assert openings_check(PLAIN_SITE) == (None, [])


def test_grounding_follows_what_is_fed():
    cords, _ = job("event_lighting")
    house, _ = job("emergency", feeds_building=True)
    assert codes(around_findings(cords)) == ["grounding_cord_and_plug", "ground_fault"]
    assert codes(around_findings(house)) == ["grounding_building", "ground_fault"]


def test_a_set_that_stays_past_twelve_months_is_stationary():
    stay, _ = job("other", hire=Hire(date(2027, 6, 1), date(2028, 6, 1)))
    assert "twelve_months" in codes(around_findings(stay))
    assert "twelve_months" not in codes(around_findings(job("other", hire=None)[0]))


@given(st.dates(date(2020, 1, 1), date(2090, 1, 1)), st.integers(0, 36))
def test_months_later_is_never_in_another_month(day, months):
    later = later_by_months(day, months)
    assert (later.year * 12 + later.month) - (day.year * 12 + day.month) == months
    assert later.day <= day.day


@given(st.dates(date(2020, 1, 1), date(2090, 1, 1)), st.integers(0, 800))
def test_only_more_than_a_year_is_too_long(start, days):
    hire = Hire(start, date.fromordinal(start.toordinal() + days))
    assert stays_too_long(hire) == (hire.end >= later_by_months(start, 12))
    assert not (stays_too_long(hire) and days < 364)


def test_everything_around_a_set_is_said_at_once():
    trace = Trace()
    requirement, _ = job(
        "dewatering", noise_limit_dba=60.0, noise_distance_m=7.0, openings_distance_m=2.0,
        towing=Towing(), hire=Hire(date(2027, 1, 1), date(2028, 6, 1)),
    )  # fmt: skip
    checks, findings = around_checks(SET, requirement, 3, trace, auxiliary_tank_l=1600.0)
    names = {"sound", "openings_distance", "vehicle_rating", "hitch_class", "brake_controller"}
    assert {check.name for check in checks} == names
    told = {"noise_limit", "carbon_monoxide", "towing_limit", "tank_threshold", "twelve_months"}
    assert told <= set(codes(findings))
    assert len(trace.lines) == 2


def test_a_quiet_job_has_no_checks_and_the_usual_notes():
    checks, findings = around_checks(SET, job("other")[0])
    assert checks == ()
    assert all(finding.severity is Severity.NOTE for finding in findings)
