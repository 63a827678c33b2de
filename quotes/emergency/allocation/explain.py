"""Why a site got nothing, and what one more set would change."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from quotes.emergency.allocation.problem import Option, Problem, Stock
from quotes.emergency.allocation.solve import Plan, plan


@dataclass(frozen=True, slots=True)
class Unmet:
    """One site without power: what it needs, where such sets went, and the soonest that could come.

    ``needs`` are the options of the site alone, ``shared`` those of demands with its neighbours.
    ``taken_by`` lists (set code, site, rank) of the deliveries of sets that would have served it.
    ``next_free`` is (set code, yard, hour free) of the first that fits and was not sent, if any;
    ``next_arrival_h`` is when it could be running there had its yard a truck waiting.
    """

    site: str
    needs: tuple[Option, ...]
    taken_by: tuple[tuple[str, str, int], ...]
    next_free: tuple[str, str, float] | None
    reason: str  # one of REASONS
    shared: tuple[Option, ...] = ()
    next_arrival_h: float | None = None


REASONS = {
    "not_fit": "nothing in the fleet passes the checks of this site",
    "no_such_set": "no yard holds a set that passes the checks of this site",
    "all_taken": "every set that would pass has gone elsewhere",
    "too_few": "it takes more sets at once than any yard has left",
    "named_away": "the sets left are forbidden here or pinned elsewhere",
    "pin_elsewhere": "the set pinned to this site cannot be had",
    "too_late": "the sets left cannot be there within the hours planned for",
    "no_truck": "the sets left could be there in time, but no truck is free to bring them",
}


@dataclass(frozen=True, slots=True)
class OneMore:
    """What one more set of a type in a yard would change.

    ``no_longer_served`` are sites that the better plan would leave without, for one ranked higher
    or a larger load; it is empty as a rule.
    """

    set_code: str
    yard: str
    newly_served: tuple[str, ...]
    lateness_saved_h: float
    no_longer_served: tuple[str, ...] = ()


def unmet_sites(problem: Problem, made: Plan) -> tuple[Unmet, ...]:
    """An explanation for every site left without, in order of rank and need."""
    order = {site.key: (site.rank, site.need_by_h) for site in problem.sites}
    return tuple(_unmet(problem, made, key) for key in sorted(made.unmet, key=lambda k: order[k]))


def _unmet(problem: Problem, made: Plan, key: str) -> Unmet:
    needs = tuple(o for d in problem.demands if d.sites == (key,) for o in d.options)
    shared = tuple(
        o for d in problem.demands if key in d.sites and len(d.sites) > 1 for o in d.options
    )
    codes = {option.set_code for option in (*needs, *shared)}
    ranks = {site.key: site.rank for site in problem.sites}
    taken = tuple(
        (d.set_code, s, ranks[s]) for d in made.deliveries if d.set_code in codes for s in d.sites
    )
    left = _left(problem, made, codes)
    fitting = _fitting(problem, key, (*needs, *shared), left)
    soonest = min(
        ((_arrival(problem, key, stock), stock) for stock in fitting),
        key=lambda one: (one[0], one[1].set_code, one[1].yard),
        default=None,
    )
    return Unmet(
        site=key,
        needs=needs,
        taken_by=taken,
        next_free=(soonest[1].set_code, soonest[1].yard, soonest[1].free_from_h)
        if soonest
        else None,
        reason=_reason(problem, key, codes, left, soonest[0] if soonest else None),
        shared=shared,
        next_arrival_h=soonest[0] if soonest else None,
    )


def _left(problem: Problem, made: Plan, codes: set[str]) -> list[Stock]:
    """Stocks of these types as the plan leaves them."""
    used = {unit for delivery in made.deliveries for unit in delivery.units}
    left = [
        replace(stock, units=tuple(unit for unit in stock.units if unit not in used))
        for stock in problem.stocks
        if stock.set_code in codes
    ]
    return [stock for stock in left if stock.units]


def _fitting(
    problem: Problem, key: str, options: tuple[Option, ...], left: list[Stock]
) -> list[Stock]:
    """What is left, may serve the site and is enough of it; free when the last set of it is."""
    fewest = {
        o.set_code: min(x.count for x in options if x.set_code == o.set_code) for o in options
    }
    found = []
    for code, yard in sorted({(stock.set_code, stock.yard) for stock in left}):
        free = sorted(
            (stock.free_from_h, unit)
            for stock in left
            if (stock.set_code, stock.yard) == (code, yard)
            for unit in stock.units
            if _may_serve(problem, key, unit)
        )
        if len(free) >= fewest[code]:
            units = tuple(unit for _, unit in free)
            found.append(Stock(yard, code, units, free[fewest[code] - 1][0]))
    return found


def _may_serve(problem: Problem, key: str, unit: str) -> bool:
    if key in problem.pinned and problem.pinned[key] == unit:
        return (key, unit) not in problem.forbidden
    return (key, unit) not in problem.forbidden and unit not in problem.pinned.values()


def _arrival(problem: Problem, key: str, stock: Stock) -> float:
    """When the set could run at the site if a truck stood waiting, leaving at a whole slot."""
    yard = next(yard for yard in problem.yards if yard.key == stock.yard)
    site = next(site for site in problem.sites if site.key == key)
    leave_h = problem.slot_h * max(0, math.ceil(stock.free_from_h / problem.slot_h - 1e-9))
    return leave_h + problem.distance_km(yard, site) / problem.road_km_h + problem.hookup_h


def _reason(
    problem: Problem, key: str, codes: set[str], left: list[Stock], arrival_h: float | None
) -> str:
    if not codes:
        return "not_fit"
    if key in problem.pinned:
        return "pin_elsewhere"
    if not any(stock.set_code in codes and stock.units for stock in problem.stocks):
        return "no_such_set"
    if not left:
        return "all_taken"
    if arrival_h is not None:
        return "too_late" if arrival_h > problem.horizon_h else "no_truck"
    free = any(_may_serve(problem, key, unit) for stock in left for unit in stock.units)
    return "too_few" if free else "named_away"


def more_sets(
    problem: Problem, made: Plan, *, most: int = 5, seconds: float = 5.0
) -> list[OneMore]:
    """For the sets that unmet sites ask for most: the plan again with one more in each yard.

    ``seconds`` bounds each plan; the sets of the plan at hand stay where they are if all else is
    equal, so that only what the one more set changes is told.
    """
    asked: dict[str, int] = {}
    for key in made.unmet:
        for code in {o.set_code for d in problem.demands if key in d.sites for o in d.options}:
            asked[code] = asked.get(code, 0) + 1
    codes = sorted(asked, key=lambda code: (-asked[code], code))[:most]
    found = [
        _one_more(problem, made, code, yard.key, seconds)
        for code in codes
        for yard in problem.yards
    ]
    return sorted(
        found,
        key=lambda m: (
            len(m.no_longer_served) - len(m.newly_served),
            -m.lateness_saved_h,
            m.set_code,
            m.yard,
        ),
    )


def _one_more(problem: Problem, made: Plan, code: str, yard: str, seconds: float) -> OneMore:
    extra = Stock(yard, code, (f"one more {code}",))
    stand = {site: d.units[0] for d in made.deliveries for site in d.sites}
    asked = replace(problem, stocks=(*problem.stocks, extra), before=stand)
    again = plan(asked, seconds=seconds)
    saved = sum(d.late_h for d in made.deliveries) - sum(d.late_h for d in again.deliveries)
    newly = tuple(sorted(set(made.unmet) - set(again.unmet)))
    lost = tuple(sorted(set(again.unmet) - set(made.unmet)))
    return OneMore(code, yard, newly, saved, lost)
