"""Refuel rounds: what may never happen, and the shortest road on small rounds."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from quotes.emergency.fuel.plan import FuelResult, fuel_plan
from quotes.emergency.fuel.rounds import FuelProblem, FuelSite, FuelTruck, Round, visits_of
from quotes.emergency.fuel.routing import drive_min, road_m, service_min

ROUNDS = tuple(Round(day + 1, day * 1440, day * 1440 + 960) for day in range(3))
TRUCK = FuelTruck("truck 1", "yard", 40.0, -95.0, 4000)


def site(key: str, **more: object) -> FuelSite:
    values: dict[str, object] = {
        "name": key, "rank": 1, "latitude_deg": 40.1, "longitude_deg": -95.0, "burn_l_h": 15.0,
        "tank_l": 500.0, "level_l": 500.0,
    }  # fmt: skip
    return FuelSite(key, **{**values, **more})  # type: ignore[arg-type]


def problem(*sites: FuelSite, **more: object) -> FuelProblem:
    values: dict[str, object] = {"trucks": (TRUCK,), "rounds": ROUNDS}
    return FuelProblem(sites, **{**values, **more})  # type: ignore[arg-type]


@st.composite
def problems(draw: DrawFn) -> FuelProblem:
    def place() -> tuple[float, float]:
        step = st.integers(-30, 30)
        return 40 + draw(step) * 0.011, -95 + draw(step) * 0.011

    sites = []
    for index in range(draw(st.integers(1, 6))):
        latitude_deg, longitude_deg = place()
        tank = draw(st.sampled_from([150.0, 400.0, 900.0, 2500.0]))
        starts = draw(st.sampled_from([0, 0, 300, 1500]))
        sites.append(
            FuelSite(
                f"site {index}", f"site {index}", draw(st.integers(1, 3)), latitude_deg,
                longitude_deg, draw(st.sampled_from([0.0, 4.0, 12.0, 30.0, 70.0])), tank,
                tank * draw(st.sampled_from([1.0, 0.6, 0.2, 0.05])), starts,
                draw(st.sampled_from([4320, 4320, 1000, 2900])),
            )
        )  # fmt: skip
    trucks = tuple(
        FuelTruck(f"truck {i}", "yard", *place(), draw(st.sampled_from([600, 2000, 6000])))
        for i in range(draw(st.integers(0, 2)))
    )
    return FuelProblem(tuple(sites), trucks, ROUNDS)


def minutes_low(asked: FuelProblem, made: FuelResult, one: FuelSite) -> list[int]:
    """Minutes in which a tank is below its reserve, walked minute by minute."""
    fills = {fill.arrive_min: fill.fuel_l for fill in made.fills if fill.site == one.key}
    level, low = one.level_l, []
    for minute in range(asked.rounds[-1].last_min):
        level += fills.get(minute, 0.0)
        if one.burn_l_h and one.starts_min <= minute < one.ends_min:
            level = max(0.0, level - one.burn_l_h / 60)
            if level < asked.reserve_share * one.tank_l - one.burn_l_h / 30 - 1e-6:
                low.append(minute)
        assert level <= one.tank_l + 1e-6
    return low


@settings(max_examples=15, deadline=None, suppress_health_check=list(HealthCheck))
@given(problems())
def test_no_tank_falls_below_its_reserve_unnamed_and_trucks_do_what_they_can(
    asked: FuelProblem,
) -> None:
    made = fuel_plan(asked)
    trucks_do_what_they_can(asked, made)
    named = {short.site: short for short in made.short}
    for one in asked.sites:
        low = minutes_low(asked, made, one)
        if low:
            assert named[one.key].reserve_min <= low[0]
            assert low[0] - named[one.key].reserve_min <= 3
    for short in made.short:
        assert short.dry_min is None or short.dry_min >= short.reserve_min
        assert short.filled_min is None or short.filled_min >= short.reserve_min


def trucks_do_what_they_can(asked: FuelProblem, made: FuelResult) -> None:
    """They carry no more than they hold, and are nowhere before they can be there."""
    places = {one.key: (one.latitude_deg, one.longitude_deg) for one in asked.sites}
    for truck, this in itertools.product(asked.trucks, asked.rounds):
        yard = (truck.latitude_deg, truck.longitude_deg)
        own = [f for f in made.fills if f.truck == truck.key and f.round == this.number]
        aboard = 0.0
        for before, fill in itertools.pairwise([None, *own]):
            assert this.first_min <= fill.arrive_min <= fill.leave_min <= this.last_min
            if before is None:
                assert fill.site is None
            else:
                a = yard if before.site is None else places[before.site]
                b = yard if fill.site is None else places[fill.site]
                reached = before.leave_min + drive_min(asked, road_m(asked, a, b))
                assert fill.arrive_min >= reached
            aboard = fill.fuel_l if fill.site is None else aboard - fill.fuel_l
            assert -1e-6 <= aboard <= truck.capacity_l + 1e-6
            if fill.site is not None:
                assert fill.leave_min - fill.arrive_min >= service_min(asked, int(fill.fuel_l))
        assert aboard == pytest.approx(0.0, abs=1e-6)
        assert not own or own[-1].site is None


def shortest_m(asked: FuelProblem, this: Round) -> int:
    """Every order of the visits of one truck, loading wherever it must: the shortest in time."""
    visits = [
        visit
        for number, one in enumerate(asked.sites)
        for visit in visits_of(asked, number, one.level_l, this, this.first_min + 1440)
    ]
    (truck,) = asked.trucks
    yard = (truck.latitude_deg, truck.longitude_deg)
    best = math.inf
    for order in itertools.permutations(visits):
        for loads in itertools.product([False, True], repeat=max(0, len(order) - 1)):
            here, clock, aboard, metres = yard, this.first_min + asked.load_min, truck.capacity_l, 0
            good = True
            for visit, load in zip(order, (False, *loads), strict=True):
                one = asked.sites[visit.site]
                if load:
                    back = road_m(asked, here, yard)
                    metres, clock = metres + back, clock + drive_min(asked, back) + asked.load_min
                    here, aboard = yard, truck.capacity_l
                there = (one.latitude_deg, one.longitude_deg)
                leg = road_m(asked, here, there)
                clock = max(clock + drive_min(asked, leg), visit.early_min)
                good = good and clock <= visit.late_min and visit.planned_l <= aboard
                clock += service_min(asked, visit.planned_l)
                here, aboard, metres = there, aboard - visit.planned_l, metres + leg
            home = road_m(asked, here, yard)
            if good and clock + drive_min(asked, home) <= this.last_min:
                best = min(best, metres + home)
    return int(best)


@pytest.mark.parametrize("capacity", [450, 900, 4000])
def test_the_road_of_a_small_round_is_the_shortest_of_all_orders(capacity: int) -> None:
    """Against every order of five visits and every choice of where to load between them."""
    places = [(40.2, -95.1), (39.9, -95.2), (40.05, -94.8), (40.3, -94.9), (39.85, -94.9)]
    sites = [
        site(f"site {i}", latitude_deg=a, longitude_deg=b, burn_l_h=14.0, level_l=330.0 + 20 * i)
        for i, (a, b) in enumerate(places)
    ]
    asked = problem(*sites, trucks=(replace(TRUCK, capacity_l=capacity),), rounds=ROUNDS[:1])
    made = fuel_plan(asked)
    assert made.short == ()
    assert made.distance_km * 1000 == pytest.approx(shortest_m(asked, ROUNDS[0]), abs=60)


def test_a_site_too_far_for_its_tank_is_named_with_its_hour() -> None:
    far = site("far", latitude_deg=41.5, tank_l=200.0, level_l=60.0, burn_l_h=30.0)
    made = fuel_plan(problem(far))
    (short,) = made.short
    assert (short.site, short.reserve_min, short.dry_min) == ("far", 60, 120)
    assert short.filled_min is not None
    assert short.filled_min > 120


def test_without_a_truck_every_site_is_named_with_its_hour() -> None:
    made = fuel_plan(problem(site("a"), site("b", burn_l_h=0.0), trucks=()))
    assert [(s.site, s.reserve_min, s.filled_min) for s in made.short] == [("a", 1700, None)]


def test_a_tank_that_lasts_over_the_event_gets_no_visit() -> None:
    made = fuel_plan(problem(site("a", tank_l=5000.0, level_l=5000.0)))
    assert made.fills == ()
    assert made.short == ()


def test_a_set_that_stops_before_it_is_low_gets_no_visit() -> None:
    assert fuel_plan(problem(site("a", ends_min=1600))).fills == ()


def test_a_small_tank_is_filled_more_than_once_a_day() -> None:
    thirsty = site("thirsty", tank_l=500.0, level_l=500.0, burn_l_h=40.0)
    made = fuel_plan(problem(thirsty, rounds=ROUNDS[:1]))
    assert made.short == ()
    assert len([fill for fill in made.fills if fill.site]) >= 2


def test_a_night_longer_than_the_tank_is_named() -> None:
    thirsty = site("thirsty", tank_l=200.0, level_l=200.0, burn_l_h=40.0)
    (short,) = fuel_plan(problem(thirsty)).short
    assert 960 <= short.reserve_min < 1440


def test_the_higher_rank_is_filled_where_one_truck_cannot_reach_both() -> None:
    north = site("clinic", latitude_deg=40.5, level_l=125.0, burn_l_h=20.0, rank=1)
    south = site("office", latitude_deg=39.5, level_l=125.0, burn_l_h=20.0, rank=3)
    made = fuel_plan(problem(south, north))
    assert {short.site for short in made.short} == {"office"}


def test_burn_of_a_day_adds_up() -> None:
    assert fuel_plan(problem(site("a"), site("b"))).burn_l_day == pytest.approx(720.0)
