"""Dark hours at a site."""

from __future__ import annotations

from datetime import date
from zoneinfo import ZoneInfoNotFoundError

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sizing.sun import hire_nights, night, sampled

DAYS = st.dates(date(2026, 1, 1), date(2030, 12, 31))


@given(st.floats(25, 49), DAYS)
def test_south_of_the_polar_circle_every_night_has_both_ends(latitude, day):
    tonight = night(latitude, -98.0, "America/Chicago", day)
    assert tonight.polar == ""
    assert 0 < tonight.dark_h < 24
    assert 0 <= tonight.sunset_h < 24


@given(st.floats(25, 65), st.floats(-120, -70))
def test_december_nights_are_longer_than_june_nights(latitude, longitude):
    zone = "America/Chicago"
    winter = night(latitude, longitude, zone, date(2027, 12, 21))
    assert winter.dark_h > night(latitude, longitude, zone, date(2027, 6, 21)).dark_h


def test_the_sun_does_not_set_in_the_polar_day_nor_rise_in_the_polar_night():
    place = (70.29, -156.6, "America/Anchorage")
    summer, winter = night(*place, date(2027, 6, 21)), night(*place, date(2027, 12, 21))
    assert (summer.polar, summer.dark_h) == ("day", 0.0)
    assert (winter.polar, winter.dark_h) == ("night", 24.0)


def test_a_sunset_after_midnight_keeps_the_length_of_the_night():
    fairbanks = night(64.84, -147.72, "America/Anchorage", date(2027, 6, 20))
    assert fairbanks.sunset_h < 1
    assert 1.5 < fairbanks.dark_h < 3


def test_a_western_site_is_asked_in_its_own_zone():
    honolulu = night(21.3, -157.86, "Pacific/Honolulu", date(2027, 6, 21))
    assert 19 < honolulu.sunset_h < 19.5
    assert 10 < honolulu.dark_h < 11


def test_an_unknown_zone_is_refused():
    with pytest.raises(ZoneInfoNotFoundError):
        night(40.0, -100.0, "America/Nowhere", date(2027, 1, 1))


def test_a_hire_is_sampled_weekly_and_on_its_last_day():
    days = list(sampled(date(2027, 6, 1), date(2027, 6, 14)))
    assert days == [date(2027, 6, 1), date(2027, 6, 8), date(2027, 6, 14)]
    assert list(sampled(date(2027, 6, 1), date(2027, 6, 1))) == [date(2027, 6, 1)]


def test_a_hire_over_the_change_of_the_clock_sees_both_clocks():
    nights = hire_nights(39.0, -77.0, "America/New_York", date(2027, 11, 1), date(2027, 11, 20))
    assert nights[0].sunset_h - nights[1].sunset_h > 1
