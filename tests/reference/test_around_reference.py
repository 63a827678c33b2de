"""Chapter 11 against published rules: sound, hitch classes, brakes, tanks, stay, distance."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from sizing.around import openings_check, stays_too_long
from sizing.conversions import FOOT_M, GALLON_L, POUND_KG
from sizing.places import altitude_range, great_circle_km, usual_afternoon_c
from sizing.plugs import read_plug
from sizing.requirement import Hire
from sizing.sound import level_at_dba, satisfying_distance_m, sound_at, sum_levels_dba
from sizing.tables import table
from sizing.tanks import is_bulk, needs_spill_plan
from sizing.towing import tow_needs
from tests.sizing.site_jobs import PLAIN_SITE, SET


@pytest.mark.parametrize(("feet", "dba"), [(100, 89), (200, 83)])
def test_a_point_source_loses_six_decibels_a_doubling(feet, dba):
    # Minnesota PCA, A Guide to Noise Control (2008), p. 5 (read): 95 dBA at 50 ft.
    assert level_at_dba(95, 50, feet) == pytest.approx(dba, abs=0.1)


@pytest.mark.parametrize(("count", "dba"), [(2, 53), (4, 56), (8, 59)])
def test_equal_sources_add_three_decibels_a_doubling(count, dba):
    # The same page (read): sources of 50 dBA each.
    assert sum_levels_dba([50.0] * count) == pytest.approx(dba, abs=0.1)


@pytest.mark.parametrize(("feet", "dba"), [(100, 61), (200, 55), (300, 52)])
def test_the_levels_of_a_75_kw_set_on_a_night_job(feet, dba):
    # A city's night-work exhibit (read): 67 dBA at 50 ft, 61, 55, 52 at 100, 200, 300 ft.
    assert level_at_dba(67, 50, feet) == pytest.approx(dba, abs=0.6)


def test_a_night_limit_at_a_neighbour():
    # Limits of a town's R-1 zone (read), barrier 5 dB (Illinois DOT, read), computed: 70 dBA at
    # 23 ft is 57.2 at 100 ft, over 55 by night, under it with the barrier, and 55 at 129 ft.
    set_, neighbour_m = replace(SET, sound_dba_7m=70.0), 100 * FOOT_M
    level = sound_at(set_, neighbour_m)
    assert level == pytest.approx(57.2, rel=0.005)
    assert level > 55 >= sound_at(set_, neighbour_m, barrier_db=5)
    assert satisfying_distance_m(70, 55) / FOOT_M == pytest.approx(129, rel=0.005)


def test_a_tank_over_119_gallons_is_bulk():
    # 49 CFR 171.8 (read).
    found = [is_bulk(gallons * GALLON_L) for gallons in (100, 119, 120, 250)]
    assert found == [False, False, True, True]


def test_tanks_over_1320_gallons_need_a_plan():
    # 40 CFR 112.1 (read): over 1,320 gal in shells of 55 gal and more.
    assert not needs_spill_plan([1320 * GALLON_L])
    assert needs_spill_plan([1321 * GALLON_L])
    assert not needs_spill_plan([54 * GALLON_L] * 30)


@pytest.mark.parametrize(("class_", "pounds"), [(1, 2000), (2, 3500), (3, 5000), (4, 10000)])
def test_hitch_classes_are_those_of_sae_j684(class_, pounds):
    # SAE J684 (2005) by COMAR 11.13.08.10 (read): gross trailer weight by class.
    assert table("hitch_classes").at("gross_trailer_lb", class_) == pounds


def test_a_trailer_of_7500_pounds():
    # SAE J684 by COMAR (read), 49 CFR 393.42 and 393.70(d) (read), tongue 10-15 % (memory): class
    # 4, tongue 750 to 1,125 lb, coupling 22,500 lb, chains 7,500 lb, brakes.
    needs = tow_needs(7500 * POUND_KG)
    assert (needs.hitch_class, needs.brakes) == (4, True)
    pounds = [needs.tongue_low_kg, needs.tongue_high_kg, needs.coupling_break_kg,
              needs.chains_break_kg]  # fmt: skip
    assert [kg / POUND_KG for kg in pounds] == pytest.approx([750, 1125, 22500, 7500])


def test_the_exhaust_stays_20_feet_from_openings():
    # US CPSC advice on portable sets (read in a state's text): 20 ft.
    check, _ = openings_check(replace(PLAIN_SITE, openings_distance_m=6.0))
    assert check.required / FOOT_M == pytest.approx(20)
    assert not check.passed


def test_a_nonroad_engine_stays_twelve_months_at_most():
    # 40 CFR 1068.30 (read): more than 12 consecutive months in one place is stationary.
    assert not stays_too_long(Hire(date(2027, 3, 1), date(2028, 2, 29)))
    assert stays_too_long(Hire(date(2027, 3, 1), date(2028, 3, 1)))


@pytest.mark.parametrize(
    ("here", "there", "km"),
    [
        # The haversine example of a public task collection (memory): Nashville to Los Angeles,
        # 2,886.44 km with a radius of 6,371 km.
        ((36.12, -86.67), (33.94, -118.40), 2886.44),
        # The worked example of the aviation formulary (memory): Los Angeles to New York,
        # 0.623585 rad.
        ((33.95, -118.40), (40.6333, -73.7833), 0.623585 * 6371.0088),
        # A quarter of the earth's mean circumference, pole to equator.
        ((90.0, 0.0), (0.0, 45.0), 10007.557),
    ],
)
def test_great_circle_distances(here, there, km):
    assert great_circle_km(*here, *there) == pytest.approx(km, rel=1e-4)


def test_a_degree_of_latitude_is_sixty_nautical_miles():
    # Definition of the nautical mile as a minute of arc, 1.852 km, within the earth's flattening.
    assert great_circle_km(40, -100, 41, -100) == pytest.approx(60 * 1.852, rel=0.002)


@pytest.mark.parametrize(
    ("state", "feet"),
    [("CO", 5280), ("CO", 10152), ("UT", 4226), ("AZ", 6910), ("FL", 6), ("WY", 6062)],
)
def test_known_towns_stand_within_their_states_band(state, feet):
    # Denver, Leadville, Salt Lake City, Flagstaff, Miami, Cheyenne (memory).
    band = altitude_range(state)
    assert band.low <= feet * FOOT_M <= band.high


@pytest.mark.parametrize(
    ("state", "month", "low_c", "high_c"),
    [("AZ", 7, 35, 42), ("MN", 1, -10, 0), ("FL", 1, 15, 24), ("TX", 8, 32, 37)],
)
def test_usual_afternoons_are_of_the_right_order(state, month, low_c, high_c):
    # Normal daily maxima of well-known cities (memory), rounded outward.
    assert low_c <= usual_afternoon_c(state, month) <= high_c


@pytest.mark.parametrize(
    ("name", "volts", "amps", "wires"),
    [
        ("5-15", "125", 15, 3), ("5-20", "125", 20, 3), ("TT-30", "125", 30, 3),
        ("6-50", "250", 50, 3), ("L6-30", "250", 30, 3), ("14-30", "125/250", 30, 4),
        ("14-50", "125/250", 50, 4), ("L14-30", "125/250", 30, 4), ("L21-30", "120/208", 30, 5),
        ("L16-30", "480", 30, 4), ("L22-30", "277/480", 30, 5),
    ],
)  # fmt: skip
def test_receptacles_are_those_of_nema_wd6(name, volts, amps, wires):
    # ANSI/NEMA WD 6 configurations (read on two pages; the L rows of three phases from memory).
    row = table("receptacles").row(read_plug(name))
    assert (row["rated_volts"], row["amps_a"], row["wires"]) == (volts, amps, wires)
