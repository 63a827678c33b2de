"""Every plan of a small problem, looked at one by one. Written apart from the planner.

Only the figures of the problem are read; no column, row or timetable of the planner is used.
"""

from __future__ import annotations

import itertools
import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from quotes.emergency.allocation import Delivery, Option, Plan, Problem, Yard

EARTH_KM = 6371.0088


@dataclass(frozen=True)
class Act:
    """One demand served: by which units, of which yard, free from which hour."""

    sites: tuple[str, ...]
    option: Option
    units: tuple[str, ...]
    yard: str
    free_h: float


def road_km(problem: Problem, yard_key: str, site_key: str) -> float:
    """Road distance by the spherical law of cosines: another formula than the planner's."""
    yard = next(y for y in problem.yards if y.key == yard_key)
    site = next(s for s in problem.sites if s.key == site_key)
    a, b = math.radians(yard.latitude_deg), math.radians(site.latitude_deg)
    turn = math.radians(site.longitude_deg - yard.longitude_deg)
    cosine = math.sin(a) * math.sin(b) + math.cos(a) * math.cos(b) * math.cos(turn)
    return problem.road_factor * EARTH_KM * math.acos(max(-1.0, min(1.0, cosine)))


def acts(problem: Problem) -> list[Act]:
    """Every single thing that could be done, bans honoured."""
    found = []
    for demand, stock_yard in itertools.product(problem.demands, problem.yards):
        units = [
            (unit, stock.set_code, stock.free_from_h)
            for stock in problem.stocks
            if stock.yard == stock_yard.key
            for unit in stock.units
        ]
        for option in demand.options:
            fitting = [u for u in units if u[1] == option.set_code]
            for taken in itertools.combinations(fitting, option.count):
                names = tuple(unit for unit, _, _ in taken)
                if _named_rightly(problem, demand.sites, set(names)):
                    free = max(free for _, _, free in taken)
                    found.append(Act(demand.sites, option, names, stock_yard.key, free))
    return found


def _named_rightly(problem: Problem, sites: tuple[str, ...], names: set[str]) -> bool:
    if any((site, unit) in problem.forbidden for site in sites for unit in names):
        return False
    if any(problem.pinned.get(site, next(iter(names))) not in names for site in sites):
        return False
    here = {problem.pinned[site] for site in sites if site in problem.pinned}
    return not names & ({u for s, u in problem.pinned.items() if s not in sites} - here)


def choices(problem: Problem) -> Iterator[tuple[Act, ...]]:
    """Every set of acts in which no site and no unit comes twice."""
    every = acts(problem)

    def further(start: int, sites: frozenset[str], units: frozenset[str]) -> Iterator[list[Act]]:
        yield []
        for index in range(start, len(every)):
            act = every[index]
            if not sites & set(act.sites) and not units & set(act.units):
                for rest in further(index + 1, sites | set(act.sites), units | set(act.units)):
                    yield [act, *rest]

    return (tuple(found) for found in further(0, frozenset(), frozenset()))


def served(problem: Problem, chosen: tuple[Act, ...]) -> tuple[float, ...]:
    """Pins and ranks, as they count: smaller is better."""
    rank = {site.key: site.rank for site in problem.sites}
    pins = sum(site in problem.pinned for act in chosen for site in act.sites)
    load = Counter[int]()
    for act in chosen:
        for site in act.sites:
            load[rank[site]] += act.option.share  # type: ignore[assignment]
    return (-float(pins), *(-round(float(load[r]), 9) for r in sorted(set(rank.values()))))


def trucks_in(problem: Problem, yard: Yard, slot: int) -> int:
    """Trucks that stand in the yard, or are back in it by the start of the slot."""
    return yard.trucks + len([h for h in yard.back_h if h <= slot * problem.slot_h])


class Timetables:
    """The least lateness of the acts of one yard, over every way to put them on its trucks."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.known: dict[tuple[tuple[tuple[str, ...], int, float], ...], float] = {}

    def lateness(self, chosen: tuple[Act, ...]) -> float:
        return sum(
            self._yard(yard.key, yard, [a for a in chosen if a.yard == yard.key])
            for yard in self.problem.yards
        )

    def _yard(self, yard: str, home: Yard, jobs: list[Act]) -> float:
        key = tuple((("", yard), 0, 0.0) for _ in (0,)) + tuple(
            (job.sites, job.option.count, job.free_h) for job in jobs
        )
        if key not in self.known:
            self.known[key] = self._best(jobs, home, Counter())
        return self.known[key]

    def _best(self, jobs: list[Act], home: Yard, away: Counter[int]) -> float:
        if not jobs:
            return 0.0
        job, rest = jobs[0], jobs[1:]
        best = math.inf
        for slot, slots, late_h in self._departures(job):
            if all(away[s] + job.option.count <= trucks_in(self.problem, home, s) for s in slots):
                out = away + Counter(dict.fromkeys(slots, job.option.count))
                best = min(best, late_h + self._best(rest, home, out))
            assert slot == slots[0]
        return best

    def _departures(self, job: Act) -> Iterator[tuple[int, range, float]]:
        p = self.problem
        need = {site.key: site.need_by_h for site in p.sites}
        drive_h = road_km(p, job.yard, job.sites[0]) / p.road_km_h
        away = max(1, math.ceil((2 * drive_h + p.hookup_h) / p.slot_h - 1e-9))
        for slot in range(200):
            leave_h = slot * p.slot_h
            arrive_h = leave_h + drive_h + p.hookup_h
            if arrive_h > p.horizon_h + 1e-9:
                return
            if leave_h >= job.free_h - 1e-9:
                late_h = sum(max(0.0, arrive_h - need[site]) for site in job.sites)
                yield slot, range(slot, slot + away), late_h


def best_goals(problem: Problem) -> tuple[float, ...]:
    """What the best of all plans reaches, goal by goal; smaller is better throughout."""
    timetables = Timetables(problem)
    by_served: dict[tuple[float, ...], list[tuple[Act, ...]]] = {}
    for chosen in choices(problem):
        by_served.setdefault(served(problem, chosen), []).append(chosen)
    for reached in sorted(by_served):
        late = [(timetables.lateness(chosen), chosen) for chosen in by_served[reached]]
        least = min(hours for hours, _ in late)
        if math.isfinite(least):
            alike = [chosen for hours, chosen in late if hours <= least + 1e-7]
            return (*reached, least, *min(_rest(problem, chosen) for chosen in alike))
    raise AssertionError("the empty plan is always there")


def _rest(problem: Problem, chosen: tuple[Act, ...]) -> tuple[float, float]:
    kept = sum(problem.before.get(s) in act.units for act in chosen for s in act.sites)
    km = sum(act.option.count * road_km(problem, act.yard, act.sites[0]) for act in chosen)
    return -float(kept), km


def reached_goals(problem: Problem, made: Plan) -> tuple[float, ...]:
    """What a plan reaches, counted from its deliveries alone."""
    chosen = tuple(as_act(d) for d in made.deliveries)
    late = sum(d.late_h for d in made.deliveries)
    return (*served(problem, chosen), late, *_rest(problem, chosen))


def as_act(delivery: Delivery) -> Act:
    option = Option(delivery.set_code, len(delivery.units), delivery.share)
    return Act(delivery.sites, option, delivery.units, delivery.yard, delivery.depart_h)


def faults(problem: Problem, made: Plan) -> list[str]:
    """Everything that a plan may not do, in words; empty where it does nothing of the kind."""
    return [
        *_unit_faults(problem, made),
        *_time_faults(problem, made),
        *_list_faults(problem, made),
    ]


def _unit_faults(problem: Problem, made: Plan) -> Iterator[str]:
    home = {u: (s.yard, s.set_code, s.free_from_h) for s in problem.stocks for u in s.units}
    twice = [u for u, n in Counter(u for d in made.deliveries for u in d.units).items() if n > 1]
    yield from (f"{unit} given twice" for unit in twice)
    for d in made.deliveries:
        option = Option(d.set_code, len(d.units), d.share)
        if not any(d.sites == x.sites and option in x.options for x in problem.demands):
            yield f"{d.sites} get {option}, no option of theirs"
        for unit in d.units:
            yard, code, free_h = home[unit]
            if (yard, code) != (d.yard, d.set_code) or d.depart_h < free_h - 1e-9:
                yield f"{unit} is not there, not {d.set_code}, or not free at {d.depart_h}"
            if any((site, unit) in problem.forbidden for site in d.sites):
                yield f"{unit} is forbidden at {d.sites}"
        if any(s in problem.pinned and problem.pinned[s] not in d.units for s in d.sites):
            yield f"{d.sites} get {d.units} against their pin"


def _time_faults(problem: Problem, made: Plan) -> Iterator[str]:
    away: Counter[tuple[str, int]] = Counter()
    need = {site.key: site.need_by_h for site in problem.sites}
    for d in made.deliveries:
        drive_h = road_km(problem, d.yard, d.sites[0]) / problem.road_km_h
        if abs(d.arrive_h - d.depart_h - drive_h - problem.hookup_h) > 1e-6:
            yield f"{d.sites}: arrival does not follow from departure"
        if d.arrive_h > problem.horizon_h + 1e-6:
            yield f"{d.sites} served past the horizon"
        if abs(d.late_h - sum(max(0.0, d.arrive_h - need[s]) for s in d.sites)) > 1e-6:
            yield f"{d.sites}: lateness miscounted"
        slots = math.ceil((2 * drive_h + problem.hookup_h) / problem.slot_h - 1e-9)
        first = round(d.depart_h / problem.slot_h)
        away.update({(d.yard, first + i): len(d.units) for i in range(max(1, slots))})
    yards = {yard.key: yard for yard in problem.yards}
    yield from (
        f"{y} has too few trucks in slot {s}"
        for (y, s), n in away.items()
        if n > trucks_in(problem, yards[y], s)
    )


def _list_faults(problem: Problem, made: Plan) -> Iterator[str]:
    at = Counter(site for d in made.deliveries for site in d.sites)
    yield from (f"{site} served twice" for site, n in at.items() if n > 1)
    if sorted([*at, *made.unmet]) != sorted(site.key for site in problem.sites):
        yield "served and unmet sites are not all sites once"
