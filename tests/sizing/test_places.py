"""ZIPs, states and distances."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sizing.errors import TableRefused
from sizing.places import (
    PlaceRefused,
    altitude_range,
    ambient_range,
    distance_km,
    great_circle_km,
    months_between,
    place,
    usual_afternoon_c,
)
from sizing.tables import table

STATES = st.sampled_from(sorted(table("state_ambient").column("state")))
MONTHS = st.sets(st.integers(1, 12), min_size=1)
LATITUDES, LONGITUDES = st.floats(-90, 90), st.floats(-180, 180)


def test_a_zip_tells_place_county_state_coordinates_and_zone():
    found = place("80424")
    assert (found.city, found.county, found.state) == ("Breckenridge", "Summit County", "CO")
    assert (found.latitude_deg, found.longitude_deg) == (39.4753, -106.0225)
    assert found.timezone == "America/Denver"


def test_zip_plus_four_and_blanks_are_read():
    assert place(" 80424-1234 ") == place("80424")


@pytest.mark.parametrize(
    ("written", "code"),
    [("8042", "zip_malformed"), ("80424x", "zip_malformed"), ("", "zip_malformed"),
     ("00000", "zip_unknown"), ("09001", "zip_military")],
)  # fmt: skip
def test_a_zip_without_a_site_is_refused_with_what_to_do(written, code):
    with pytest.raises(PlaceRefused) as refused:
        place(written)
    assert refused.value.code == code
    assert refused.value.message.endswith(".")


def test_both_tables_hold_the_same_states():
    states = set(table("state_altitude").column("state"))
    assert states == set(table("state_ambient").column("state"))
    assert len(states) == 56  # 50 states, DC and five territories


@given(STATES)
def test_the_ground_of_a_state_is_an_ordered_band_that_is_said_to_be_assumed(state):
    band = altitude_range(state)
    assert band.low <= band.likely <= band.high
    assert state in band.assumed


@given(STATES, MONTHS, MONTHS)
def test_more_months_never_narrow_the_air_of_a_state(state, some, more):
    narrow, wide = ambient_range(state, some), ambient_range(state, some | more)
    assert wide.low <= narrow.low <= narrow.likely <= narrow.high <= wide.high
    assert narrow.likely <= wide.likely


@given(STATES)
def test_july_is_warmer_than_january_everywhere_but_south_of_the_equator(state):
    warmer = usual_afternoon_c(state, 7) > usual_afternoon_c(state, 1)
    assert warmer == (state != "AS")


def test_months_without_any_are_refused_and_so_is_a_state_that_is_none():
    with pytest.raises(ValueError, match="empty"):
        ambient_range("CO", ())
    with pytest.raises(TableRefused, match="ZZ"):
        altitude_range("ZZ")


@pytest.mark.parametrize(
    ("start", "end", "months"),
    [
        (date(2027, 6, 1), date(2027, 6, 14), (6,)),
        (date(2027, 11, 20), date(2028, 2, 1), (1, 2, 11, 12)),
        (date(2027, 3, 1), date(2029, 3, 1), tuple(range(1, 13))),
    ],
)
def test_a_hire_touches_its_months_once_each(start, end, months):
    assert months_between(start, end) == months


@given(LATITUDES, LONGITUDES, LATITUDES, LONGITUDES)
def test_a_way_is_as_long_back_as_forth_and_never_past_half_the_earth(a, b, c, d):
    way = great_circle_km(a, b, c, d)
    assert way == pytest.approx(great_circle_km(c, d, a, b), abs=1e-6)
    assert 0 <= way <= 20016


def test_the_distance_of_two_zips_is_that_of_their_coordinates():
    assert distance_km("80424", "80424") == 0
    assert 70 < distance_km("80424", "80202") < 120
