"""The day by clock, sun, season and sump."""

from __future__ import annotations

from datetime import date, time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sizing.day import Block, Window, cells, hourly_kw, load_levels, merged
from sizing.duty import duty_profile, unloaded_share
from sizing.finding import Severity
from sizing.requirement import Hire, Sump, known
from sizing.trace import Trace
from sizing.windows import day_windows
from tests.sizing.site_jobs import JANUARY, JUNE, codes, job, load, pump

LAMPS = load("Flood light", "lamp", 1.08, quantity=4)
HEAT, COOL, PANEL = (
    load("Heat", "heater", 10),
    load("Cooling", "hvac", 4),
    load("Panel", "panel", 5),
)
SUMP = Sump(6.3, 12.6, 1136)
WINDOWS = st.builds(Window, st.floats(0, 23.99), st.floats(0, 24))
STEADY = st.builds(Block, st.floats(0.1, 50), WINDOWS, st.just(1.0))
CYCLING = st.builds(Block, st.floats(0.1, 50), WINDOWS, st.floats(0.01, 0.99))


def energy(levels):
    return sum(kw * hours for kw, hours in levels)


@given(st.lists(STEADY, max_size=6), CYCLING, st.floats(0, 1))
def test_hours_levels_and_blocks_hold_the_same_energy(steady, cycling, unloaded):
    blocks = [*steady, cycling]
    day = cells(blocks)
    work = sum(b.kw * b.window.hours * b.duty for b in blocks)
    assert sum(hourly_kw(day)) == pytest.approx(work, rel=1e-6, abs=1e-5)
    assert energy(load_levels(day, unloaded)) == pytest.approx(work, rel=1e-5, abs=1e-4)


@given(st.lists(STEADY, max_size=6), CYCLING, st.floats(0, 10))
def test_the_engine_never_runs_longer_than_the_day(steady, cycling, unloaded):
    levels = load_levels(cells([*steady, cycling]), unloaded)
    assert sum(hours for _, hours in levels) <= 24 + 1e-6


@given(st.lists(STEADY, max_size=8), st.randoms())
def test_the_order_of_loads_does_not_matter(steady, random):
    before = cells(merged(steady))
    random.shuffle(steady)
    after = cells(merged(steady))
    assert [c.steady_kw for c in after] == pytest.approx([c.steady_kw for c in before])


def test_many_loads_of_one_window_make_one_block():
    window = Window(7, 10)
    assert merged([Block(1.0, window)] * 1000) == [Block(1000.0, window)]
    assert merged([Block(0.0, window)]) == []


def test_a_window_over_midnight_covers_both_sides():
    window = Window(22, 4)
    assert [window.covers(hour) for hour in (21.9, 22, 1.9, 2)] == [False, True, True, False]
    assert window.edges == (22, 2)


def test_an_empty_day_has_no_levels_and_no_mean():
    requirement, rows = job("other")
    profile, findings = duty_profile(requirement, rows)
    assert (profile.levels, profile.running_hours, profile.mean_kw) == ((), 0.0, 0.0)
    assert findings == []


def test_other_jobs_run_their_hours_a_day():
    requirement, rows = job("other", load("Fan", "motor", 8), hours_per_day=known(10.0))
    profile, _ = duty_profile(requirement, rows)
    assert profile.levels == ((8.0, 10.0),)
    assert profile.hourly_kw[6:18] == (0, *[8.0] * 10, 0)


def test_a_demand_factor_and_a_quantity_weigh_on_the_day():
    requirement, rows = job("other", load("Fan", "motor", 8, quantity=3, demand_factor=0.5))
    assert duty_profile(requirement, rows)[0].mean_kw == pytest.approx(12)


@pytest.mark.parametrize(
    ("hire", "running", "kw"), [(JUNE, "hvac", 9.0), (JANUARY, "heater", 15.0)]
)
def test_a_trailer_has_heat_or_cooling_by_season(hire, running, kw):
    times = {"work_from": time(7), "work_until": time(17), "zip": "80424"}
    requirement, rows = job("jobsite_trailer", HEAT, COOL, PANEL, hire=hire, **times)
    profile, findings = duty_profile(requirement, rows)
    assert profile.levels == ((kw, 10.0),)
    assert f"{running} runs" in profile.basis
    assert findings == []


@pytest.mark.parametrize(
    "changes",
    [
        {"hire": None, "zip": "80424"},
        {"hire": JUNE},
        {"hire": Hire(date(2027, 1, 1), date(2027, 7, 1)), "zip": "80424"},
    ],
)
def test_a_trailer_of_unknown_or_mixed_season_takes_the_larger_and_says_so(changes):
    requirement, rows = job("jobsite_trailer", HEAT, COOL, PANEL, **changes)
    profile, findings = duty_profile(requirement, rows)
    assert profile.levels == ((15.0, 24.0),)
    assert codes(findings) == ["season_assumed"]


def test_a_trailer_with_heat_alone_always_counts_it():
    requirement, rows = job("jobsite_trailer", HEAT, PANEL, zip="80424")
    assert duty_profile(requirement, rows)[0].mean_kw == 15.0


def test_a_night_shift_passes_midnight_and_equal_ends_mean_all_day():
    night = {"work_from": time(22), "work_until": time(6)}
    requirement, rows = job("jobsite_trailer", PANEL, **night)
    assert duty_profile(requirement, rows)[0].levels == ((5.0, 8.0),)
    day = {"work_from": time(7), "work_until": time(7)}
    requirement, rows = job("jobsite_trailer", PANEL, **day)
    assert duty_profile(requirement, rows)[0].levels == ((5.0, 24.0),)


def test_work_starts_when_the_site_says_even_without_an_end():
    requirement, rows = job("other", PANEL, hours_per_day=known(4.0), work_from=time(9, 30))
    profile, _ = duty_profile(requirement, rows)
    assert profile.hourly_kw[9] == pytest.approx(2.5)
    assert profile.hourly_kw[13] == pytest.approx(2.5)


def test_event_lamps_burn_from_sunset_to_their_end():
    requirement, rows = job("event_lighting", LAMPS, zip="80202", lights_until=time(23, 30))
    profile, findings = duty_profile(requirement, rows)
    assert 2.9 < profile.running_hours < 3.3  # sunset about 20:25 in Denver in early June
    assert profile.hourly_kw[22] == pytest.approx(4.32)
    assert findings == []


def test_the_earliest_sunset_of_the_hire_counts():
    autumn = Hire(date(2027, 9, 1), date(2027, 10, 15))
    lights = {"zip": "80202", "lights_until": time(23)}
    long, rows = job("event_lighting", LAMPS, hire=autumn, **lights)
    short, _ = job("event_lighting", LAMPS, hire=Hire(autumn.start, autumn.start), **lights)
    hours = [duty_profile(r, rows)[0].running_hours for r in (long, short)]
    assert hours[0] > hours[1] + 1


def test_event_lamps_without_an_end_burn_the_hours_asked_for():
    requirement, rows = job("event_lighting", LAMPS, zip="80202", hours_per_day=known(5.0))
    assert duty_profile(requirement, rows)[0].running_hours == pytest.approx(5.0)


def test_the_stage_of_an_event_ends_with_its_lights():
    stage = load("Stage", "electronics", 10)
    lights = {"zip": "80202", "lights_until": time(23), "hours_per_day": known(6.0)}
    requirement, rows = job("event_lighting", stage, LAMPS, **lights)
    windows, _ = day_windows(requirement, rows)
    assert (windows.work.start_h, windows.work.hours) == (pytest.approx(17.0), 6.0)


def test_a_stage_without_lamps_starts_in_the_morning():
    requirement, rows = job("event_lighting", load("Stage", "electronics", 10),
                            hours_per_day=known(6.0))  # fmt: skip
    assert day_windows(requirement, rows)[0].work == Window(7.0, 6.0)


def test_flood_lights_of_a_dewatering_job_burn_till_sunrise():
    requirement, rows = job("dewatering", LAMPS, zip="80202")
    assert 9 < duty_profile(requirement, rows)[0].running_hours < 9.6


def test_lamps_of_a_shelter_run_by_its_hours_unless_an_end_is_given():
    requirement, rows = job("emergency", LAMPS, zip="80202")
    assert duty_profile(requirement, rows)[0].running_hours == 24
    requirement, rows = job("emergency", LAMPS, zip="80202", lights_until=time(23))
    assert duty_profile(requirement, rows)[0].running_hours < 3


def test_lights_that_end_by_day_are_counted_to_sunrise_and_noted():
    requirement, rows = job("event_lighting", LAMPS, zip="80202", lights_until=time(19))
    profile, findings = duty_profile(requirement, rows)
    assert 9 < profile.running_hours < 9.6
    assert codes(findings) == ["lights_end_in_daylight"]


def test_without_zip_or_dates_the_assumption_is_said_twice():
    requirement, rows = job("dewatering", LAMPS, hire=None)
    profile, findings = duty_profile(requirement, rows)
    assert codes(findings) == ["sunset_assumed", "sunset_assumed"]
    assert {finding.subject for finding in findings} == {"hire", "site.zip"}
    assert profile.running_hours > 14


def test_given_coordinates_need_no_zip():
    where = {"latitude_deg": 39.74, "longitude_deg": -104.99, "timezone": "America/Denver"}
    requirement, rows = job("dewatering", LAMPS, **where)
    assert duty_profile(requirement, rows)[1] == []


@pytest.mark.parametrize(("until", "start"), [(time(2), 21.0), (None, 19.0)])
def test_where_the_sun_never_sets_lamps_burn_their_hours(until, start):
    summer = Hire(date(2027, 6, 10), date(2027, 6, 20))
    requirement, rows = job("event_lighting", LAMPS, hire=summer, zip="99723",
                            lights_until=until, hours_per_day=known(5.0))  # fmt: skip
    windows, findings = day_windows(requirement, rows)
    assert (windows.dark.start_h, windows.dark.hours) == (start, 5.0)
    assert codes(findings) == ["sun_never_sets"]


def test_in_the_polar_night_lamps_burn_all_day():
    winter = Hire(date(2027, 12, 10), date(2027, 12, 20))
    requirement, rows = job("dewatering", LAMPS, hire=winter, zip="99723")
    assert duty_profile(requirement, rows)[0].running_hours == 24


def test_a_pump_alone_starts_and_stops_the_engine():
    requirement, rows = job("dewatering", pump(), sump=Sump(3.0, 12.0, 3600))
    profile, _ = duty_profile(requirement, rows)
    starts = 3600 / (3600 / 12 * (1 / 0.75 + 1 / 0.25))
    assert profile.levels[0] == (12.0, pytest.approx(6.0))
    assert profile.levels[1] == (0.0, pytest.approx(24 * starts * 4 / 60))
    assert profile.running_hours == pytest.approx(6 + 24 * starts * 4 / 60)
    assert profile.mean_kw == pytest.approx(72 / profile.running_hours)


def test_a_pump_beside_a_steady_load_leaves_the_engine_running():
    requirement, rows = job("dewatering", pump(), load("Fan", "motor", 5), sump=SUMP)
    profile, _ = duty_profile(requirement, rows)
    assert profile.levels == ((17.0, pytest.approx(12.0)), (5.0, pytest.approx(12.0)))


def test_a_pump_without_sump_figures_runs_through_and_says_so():
    requirement, rows = job("dewatering", pump())
    profile, findings = duty_profile(requirement, rows)
    assert profile.levels == ((12.0, 24.0),)
    assert (profile.starts_per_hour, profile.starts_allowed_per_hour) == (None, 6.0)
    assert codes(findings) == ["sump_assumed"]
    assert findings[0].severity is Severity.NOTE


def test_too_many_starts_name_the_volume_that_would_do():
    requirement, rows = job("dewatering", pump(), load("Fan", "motor", 5), sump=SUMP)
    profile, findings = duty_profile(requirement, rows)
    assert profile.starts_per_hour == pytest.approx(9.98, abs=0.01)
    assert codes(findings) == ["starts_per_hour", "engine_starts"]
    assert "1890 L" in findings[0].detail


def test_pumps_that_take_turns_are_let_pass():
    turning = Sump(6.3, 12.6, 1136, alternating=True)
    requirement, rows = job("dewatering", pump(quantity=2), sump=turning)
    profile, findings = duty_profile(requirement, rows)
    assert profile.starts_per_hour == pytest.approx(4.99, abs=0.01)
    assert "starts_per_hour" not in codes(findings)


def test_turning_pumps_that_still_start_too_often_are_warned_of():
    requirement, rows = job("dewatering", pump(quantity=2), sump=Sump(6, 12, 300, True))
    assert "starts_per_hour" in codes(duty_profile(requirement, rows)[1])


def test_an_inflow_no_pump_masters_goes_to_a_person():
    requirement, rows = job("dewatering", pump(), sump=Sump(20, 12.6, 1136))
    profile, findings = duty_profile(requirement, rows)
    assert profile.levels == ((12.0, 24.0),)
    overrun = next(f for f in findings if f.code == "sump_overrun")
    assert overrun.severity is Severity.NEEDS_PERSON
    assert overrun.question


def test_a_motor_beyond_the_tables_goes_to_a_person():
    requirement, rows = job("dewatering", pump(200, hp=300.0), sump=Sump(30, 300, 9000))
    profile, findings = duty_profile(requirement, rows)
    assert "outside_table" in codes(findings)
    assert profile.starts_allowed_per_hour is None


def test_a_pump_without_horsepower_has_no_allowance():
    requirement, rows = job("dewatering", pump(hp=None), sump=SUMP)
    profile, findings = duty_profile(requirement, rows)
    assert profile.starts_allowed_per_hour is None
    assert "starts_per_hour" not in codes(findings)


def test_a_rate_that_does_not_fit_the_motor_is_questioned():
    requirement, rows = job("dewatering", pump(), sump=Sump(200, 1300, 200_000))
    findings = duty_profile(requirement, rows)[1]
    assert "pump_rate_doubtful" in codes(findings)


def test_an_unknown_speed_counts_as_two_poles():
    trace = Trace()
    requirement, rows = job("dewatering", pump(), rpm=None)
    assert duty_profile(requirement, rows, trace)[0].starts_allowed_per_hour == 5.4
    assert any("no speed stamped, so two poles" in line.line for line in trace.lines)


def test_without_starts_nothing_runs_unloaded():
    assert unloaded_share(0) == 0
    assert unloaded_share(6) == pytest.approx(0.4)


def test_the_trace_adds_up_to_the_mean():
    trace = Trace()
    requirement, rows = job("dewatering", pump(), LAMPS, zip="80202", sump=SUMP)
    profile, _ = duty_profile(requirement, rows, trace)
    lines = [line.line for line in trace.lines if line.chapter == "duty"]
    assert lines[-1].endswith(f"= {profile.mean_kw:.2f} kW")
    assert any("t = 4 V/D" in line for line in lines)


def test_the_trace_tells_why_the_engine_runs_unloaded():
    trace = Trace()
    requirement, rows = job("dewatering", pump(), sump=Sump(3.0, 12.0, 3600))
    duty_profile(requirement, rows, trace)
    assert any("Warm-up and cool-down take 15 %" in line.line for line in trace.lines)


def test_the_trace_of_an_unknown_sump_leaves_out_what_is_not_known():
    trace = Trace()
    requirement, rows = job("dewatering", pump(hp=None))
    duty_profile(requirement, rows, trace)
    assert not any("Q/D" in line.line or "Allowed" in line.line for line in trace.lines)


@given(st.floats(0.1, 12.4), st.floats(0.1, 12.4))
def test_more_inflow_never_means_less_energy(some, more):
    low, high = sorted((some, more))
    means = []
    for inflow in (low, high):
        requirement, rows = job("dewatering", pump(), sump=Sump(inflow, 12.6, 1136))
        means.append(sum(duty_profile(requirement, rows)[0].hourly_kw))
    assert means[0] <= means[1] + 1e-9
