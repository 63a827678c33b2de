"""The fuel plan: round after round, with the levels that the rounds before left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from quotes.emergency.fuel.rounds import (
    FuelProblem,
    Round,
    Visit,
    falls_to,
    level_at,
    visits_of,
)
from quotes.emergency.fuel.routing import Routes, Stop, drive_min, road_m, routes

MARGIN_MIN = 60  # that a tank must last beyond the first minute a truck could be there again


@dataclass(frozen=True, slots=True)
class Fill:
    """One stop of one truck in one round. ``site`` is none where the truck loads at its yard."""

    round: int
    truck: str
    site: str | None
    arrive_min: int
    leave_min: int
    fuel_l: float
    level_before_l: float = 0.0


@dataclass(frozen=True, slots=True)
class Short:
    """A site that falls to its reserve: when, when it is dry, and when a truck comes, if any."""

    site: str
    reserve_min: int
    dry_min: int | None
    filled_min: int | None


@dataclass(frozen=True, slots=True)
class FuelResult:
    """The stops, the sites nobody reaches in time, burn and road."""

    fills: tuple[Fill, ...]
    short: tuple[Short, ...]
    burn_l_day: float
    distance_km: float


def fuel_plan(problem: FuelProblem) -> FuelResult:
    """Plan every round in turn.

    1. Ask each site for the visits it needs to last until the next round can reach it.
    2. Route them; what cannot be made in time is tried again late rather than not at all.
    3. Fill the tanks in the order of the stops, and carry the levels on.
    """
    if not problem.trucks:
        return FuelResult((), shorts(problem, ()), _burn_l_day(problem), 0.0)
    levels = [(site.level_l, site.starts_min) for site in problem.sites]
    fills: list[Fill] = []
    metres = 0
    for index, this in enumerate(problem.rounds):
        later = problem.rounds[index + 1 : index + 2]
        visits = [
            visit
            for number in range(len(problem.sites))
            for visit in visits_of(
                problem,
                number,
                _level(problem, number, levels, this),
                this,
                _until(problem, number, later, this),
            )
        ]
        found, visits = _routed(problem, this, visits)
        metres += found.distance_m
        fills += _filled(problem, this, found, visits, levels)
    return FuelResult(tuple(fills), shorts(problem, fills), _burn_l_day(problem), metres / 1000)


def _burn_l_day(problem: FuelProblem) -> float:
    """Fuel of all sets over a whole day."""
    return 24 * sum(site.burn_l_h for site in problem.sites)


def _level(
    problem: FuelProblem, number: int, levels: Sequence[tuple[float, int]], this: Round
) -> float:
    level_l, since = levels[number]
    return level_at(problem.sites[number], level_l, since, this.first_min)


def _until(problem: FuelProblem, number: int, later: Sequence[Round], this: Round) -> float:
    """How long this round must see to: the next round's first truck here, and a margin.

    The last round of the plan sees to a whole day more, as long as the set runs.
    """
    if not later:
        return float(this.first_min + 24 * 60)
    site = problem.sites[number]
    here = (site.latitude_deg, site.longitude_deg)
    roads = [road_m(problem, (t.latitude_deg, t.longitude_deg), here) for t in problem.trucks]
    nearest = drive_min(problem, min(roads, default=0))
    return float(later[0].first_min + problem.load_min + nearest + MARGIN_MIN)


def _routed(problem: FuelProblem, this: Round, visits: list[Visit]) -> tuple[Routes, list[Visit]]:
    found = routes(problem, this, visits)
    if not found.missed:
        return found, visits
    most = min(truck.capacity_l for truck in problem.trucks)
    late = [
        replace(
            visit,
            late_min=this.last_min,
            planned_l=min(most, round(problem.sites[visit.site].tank_l)),
        )
        if index in found.missed
        else visit
        for index, visit in enumerate(visits)
    ]
    return routes(problem, this, late), late


def _filled(
    problem: FuelProblem,
    this: Round,
    found: Routes,
    visits: list[Visit],
    levels: list[tuple[float, int]],
) -> list[Fill]:
    """The stops of a round with what each tank takes; ``levels`` go on to the next round."""
    made: dict[Stop, Fill] = {}
    for stop in sorted(found.stops, key=lambda s: s.arrive_min):
        if stop.visit is None:
            continue
        visit = visits[stop.visit]
        site, truck = problem.sites[visit.site], problem.trucks[stop.truck].key
        before = level_at(site, *levels[visit.site], stop.arrive_min)
        takes = min(site.tank_l - before, float(visit.planned_l))
        levels[visit.site] = (before + takes, stop.arrive_min)
        made[stop] = Fill(
            this.number, truck, site.key, stop.arrive_min, stop.leave_min, takes, before
        )
    return [_stop(problem, this, found.stops, index, made) for index in range(len(found.stops))]


def _stop(
    problem: FuelProblem,
    this: Round,
    stops: Sequence[Stop],
    index: int,
    made: dict[Stop, Fill],
) -> Fill:
    """One stop; at the yard the truck loads what it gives out until it is there again."""
    stop = stops[index]
    if stop.visit is not None:
        return made[stop]
    load = 0.0
    for later in stops[index + 1 :]:
        if later.visit is None:
            break
        load += made[later].fuel_l
    truck = problem.trucks[stop.truck].key
    return Fill(this.number, truck, None, stop.arrive_min, stop.leave_min, load)


def shorts(problem: FuelProblem, fills: Sequence[Fill]) -> tuple[Short, ...]:
    """Every site that falls to its reserve within the plan: the first time it does."""
    end = problem.rounds[-1].last_min if problem.rounds else 0
    found = [_short(problem, number, fills, end) for number in range(len(problem.sites))]
    return tuple(sorted((one for one in found if one), key=lambda s: (s.reserve_min, s.site)))


def _short(problem: FuelProblem, number: int, fills: Sequence[Fill], end: int) -> Short | None:
    site = problem.sites[number]
    reserve = problem.reserve_l(site)
    level_l, since = site.level_l, site.starts_min
    own = sorted((f for f in fills if f.site == site.key), key=lambda f: f.arrive_min)
    for index in range(len(own) + 1):
        low = falls_to(site, level_l, since, reserve)
        dry = falls_to(site, level_l, since, 0.0)
        comes = own[index].arrive_min if index < len(own) else None
        if low < (end if comes is None else comes) - 1e-6:
            dries = int(dry) if dry < (end if comes is None else comes) else None
            return Short(site.key, int(low), dries, comes)
        if comes is not None:
            level_l = level_at(site, level_l, since, comes) + own[index].fuel_l
            since = comes
    return None
