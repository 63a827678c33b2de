"""One round as a routing problem: capacity, time windows and reloads, solved by PyVRP."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

from quotes.emergency.fuel.rounds import FuelProblem, FuelSite, FuelTruck, Round, Visit
from sizing.places import great_circle_km

TURNS = 300  # of the search; the same round always gets the same plan
PRIZE = 200_000  # in units of 10 m: above any road, so that no visit is left out to save it
AGAIN = 8  # visits left out that are tried again
LOADS = 20  # of one truck in one round


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop of a truck: at a site where ``visit`` is set, else at its yard to load."""

    truck: int
    visit: int | None
    arrive_min: int
    leave_min: int


@dataclass(frozen=True, slots=True)
class Routes:
    """The stops in order of trucks and time, the visits that found no truck, and the road."""

    stops: tuple[Stop, ...]
    missed: tuple[int, ...]
    distance_m: int


def road_m(problem: FuelProblem, a: tuple[float, float], b: tuple[float, float]) -> int:
    """Road between two places in whole metres: great circle times the road factor."""
    return round(1000 * problem.road_factor * great_circle_km(*a, *b))


def drive_min(problem: FuelProblem, metres: int) -> int:
    """Whole minutes on the road, rounded up."""
    return math.ceil(metres / 1000 / problem.road_km_h * 60)


def service_min(problem: FuelProblem, litres: int) -> int:
    """Whole minutes at a site: parking, chocks, hoses and papers, then pumping."""
    return problem.at_site_min + math.ceil(litres / problem.pump_l_min)


def routes(problem: FuelProblem, this: Round, visits: list[Visit]) -> Routes:
    """The shortest roads that make the visits within their windows; as many as can be made.

    1. Visits that no truck could make even as its only one are left out beforehand.
    2. All others must be made. Where that cannot be, each may be left out at its rank's prize.
    3. What was left out is tried again, the highest rank first, since a search with prizes is shy
       of loading once more for a single visit.
    """
    every = [i for i, visit in enumerate(visits) if _reachable(problem, this, visit)]
    found = _solved(problem, this, visits, every, required=True)
    if found is None:
        found = _solved(problem, this, visits, every, required=False) or []
        for index in _left_out(problem, visits, every, found):
            kept = sorted([*_made(found), index])
            found = _solved(problem, this, visits, kept, required=True) or found
    made = _made(found)
    missed = tuple(i for i in range(len(visits)) if i not in made)
    return Routes(tuple(found), missed, _length(problem, found, visits))


def _made(stops: Sequence[Stop]) -> set[int]:
    return {stop.visit for stop in stops if stop.visit is not None}


def _left_out(
    problem: FuelProblem, visits: list[Visit], every: list[int], found: Sequence[Stop]
) -> list[int]:
    missing = [i for i in every if i not in _made(found)]
    return sorted(missing, key=lambda i: (problem.sites[visits[i].site].rank, i))[:AGAIN]


def _reachable(problem: FuelProblem, this: Round, visit: Visit) -> bool:
    """Whether some truck could be there in time and back before the round is over."""
    site = problem.sites[visit.site]
    for truck in problem.trucks:
        metres = road_m(
            problem,
            (truck.latitude_deg, truck.longitude_deg),
            (site.latitude_deg, site.longitude_deg),
        )
        there = this.first_min + problem.load_min + drive_min(problem, metres)
        leaves = max(there, visit.early_min) + service_min(problem, visit.planned_l)
        back = leaves + drive_min(problem, metres) <= this.last_min
        if there <= visit.late_min and back and visit.planned_l <= truck.capacity_l:
            return True
    return False


def _solved(
    problem: FuelProblem, this: Round, visits: list[Visit], kept: list[int], *, required: bool
) -> list[Stop] | None:
    """The stops that make the kept visits; ``None`` where the search finds no way."""
    if not kept or not problem.trucks:
        return []
    from pyvrp.stop import MaxIterations  # loads plotting too: only where a plan is made

    model = _model(problem, this, [visits[i] for i in kept], required)
    result = model.solve(MaxIterations(TURNS), seed=1, collect_stats=False, display=False)
    if not result.is_feasible():
        return None
    stops = [stop for route in result.best.routes() for stop in _stops(route)]
    return [replace(stop, visit=None if stop.visit is None else kept[stop.visit]) for stop in stops]


def _stops(route: Any) -> list[Stop]:
    truck = int(route.vehicle_type())
    return [
        Stop(
            truck, int(one.idx) if one.is_client() else None, int(one.start_time), int(one.end_time)
        )
        for one in route.schedule()
    ]


def _length(problem: FuelProblem, stops: Sequence[Stop], visits: Sequence[Visit]) -> int:
    """Metres of road of all trucks, from stop to stop."""
    total = 0
    for before, stop in pairwise(stops):
        if before.truck == stop.truck:
            a, b = (_place(problem, visits, one) for one in (before, stop))
            total += road_m(problem, a, b)
    return total


def _place(problem: FuelProblem, visits: Sequence[Visit], stop: Stop) -> tuple[float, float]:
    there: FuelSite | FuelTruck = problem.trucks[stop.truck]
    if stop.visit is not None:
        there = problem.sites[visits[stop.visit].site]
    return there.latitude_deg, there.longitude_deg


def _model(problem: FuelProblem, this: Round, visits: list[Visit], required: bool) -> Any:
    from pyvrp import Model

    model = Model()
    places: list[tuple[Any, tuple[float, float]]] = []

    def located(latitude_deg: float, longitude_deg: float) -> Any:
        place = (latitude_deg, longitude_deg)
        location = model.add_location(round(longitude_deg * 1e5), round(latitude_deg * 1e5))
        places.append((location, place))
        return location

    for truck in problem.trucks:
        yard = model.add_depot(
            located(truck.latitude_deg, truck.longitude_deg), service_duration=problem.load_min
        )
        model.add_vehicle_type(
            1,
            capacity=truck.capacity_l,
            start_depot=yard,
            end_depot=yard,
            tw_early=this.first_min,
            tw_late=this.last_min,
            reload_depots=[yard],
            max_reloads=LOADS,
        )
    for visit in visits:
        site = problem.sites[visit.site]
        model.add_client(
            located(site.latitude_deg, site.longitude_deg),
            delivery=visit.planned_l,
            service_duration=service_min(problem, visit.planned_l),
            tw_early=visit.early_min,
            tw_late=visit.late_min,
            prize=0 if required else PRIZE * (5 - min(site.rank, 4)),
            required=required,
        )
    for here, a in places:
        for there, b in places:
            metres = road_m(problem, a, b)
            model.add_edge(here, there, round(metres / 10), drive_min(problem, metres))
    return model
