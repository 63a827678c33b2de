"""Why a site got nothing, and what one more set would change."""

from __future__ import annotations

from dataclasses import dataclass, replace

from quotes.emergency.allocation.problem import Option, Problem, Stock
from quotes.emergency.allocation.solve import Plan, plan


@dataclass(frozen=True, slots=True)
class Unmet:
    """One site without power: what it needs, where such sets went, and the soonest that could come.

    ``taken_by`` lists (set code, site, rank) of the sets that would have served it.
    ``next_free`` is (set code, yard, hour) of the first that is free but was not sent, if any.
    """

    site: str
    needs: tuple[Option, ...]
    taken_by: tuple[tuple[str, str, int], ...]
    next_free: tuple[str, str, float] | None
    reason: str  # "no_such_set", "all_taken", "too_late", "not_fit"


@dataclass(frozen=True, slots=True)
class OneMore:
    """What one more set of a type in a yard would change."""

    set_code: str
    yard: str
    newly_served: tuple[str, ...]
    lateness_saved_h: float


def unmet_sites(problem: Problem, made: Plan) -> tuple[Unmet, ...]:
    """An explanation for every site left without, in order of rank and need."""
    order = {site.key: (site.rank, site.need_by_h) for site in problem.sites}
    return tuple(_unmet(problem, made, key) for key in sorted(made.unmet, key=lambda k: order[k]))


def _unmet(problem: Problem, made: Plan, key: str) -> Unmet:
    needs = tuple(o for d in problem.demands if d.sites == (key,) for o in d.options)
    codes = {option.set_code for option in needs}
    ranks = {site.key: site.rank for site in problem.sites}
    taken = tuple(
        (d.set_code, s, ranks[s]) for d in made.deliveries if d.set_code in codes for s in d.sites
    )
    used = {unit for delivery in made.deliveries for unit in delivery.units}
    free = [
        (stock.free_from_h, stock.set_code, stock.yard)
        for stock in problem.stocks
        if stock.set_code in codes and set(stock.units) - used
    ]
    soonest = min(free, default=None)
    next_free = (soonest[1], soonest[2], soonest[0]) if soonest else None
    return Unmet(key, needs, taken, next_free, _reason(problem, needs, taken, next_free))


def _reason(
    problem: Problem,
    needs: tuple[Option, ...],
    taken: tuple[tuple[str, str, int], ...],
    next_free: tuple[str, str, float] | None,
) -> str:
    if not needs:
        return "not_fit"
    if next_free is not None:
        return "too_late"
    return "all_taken" if taken else "no_such_set"


def more_sets(
    problem: Problem, made: Plan, *, most: int = 5, seconds: float = 5.0
) -> list[OneMore]:
    """For the sets that unmet sites ask for most: the plan again with one more in each yard."""
    asked: dict[str, int] = {}
    for key in made.unmet:
        for code in {o.set_code for d in problem.demands if d.sites == (key,) for o in d.options}:
            asked[code] = asked.get(code, 0) + 1
    codes = sorted(asked, key=lambda code: (-asked[code], code))[:most]
    found = [
        _one_more(problem, made, code, yard.key, seconds)
        for code in codes
        for yard in problem.yards
    ]
    return sorted(
        found, key=lambda m: (-len(m.newly_served), -m.lateness_saved_h, m.set_code, m.yard)
    )


def _one_more(problem: Problem, made: Plan, code: str, yard: str, seconds: float) -> OneMore:
    extra = Stock(yard, code, (f"one more {code}",))
    again = plan(replace(problem, stocks=(*problem.stocks, extra)), seconds=seconds)
    saved = sum(d.late_h for d in made.deliveries) - sum(d.late_h for d in again.deliveries)
    newly = tuple(sorted(set(made.unmet) - set(again.unmet)))
    return OneMore(code, yard, newly, saved)
