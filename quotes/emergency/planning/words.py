"""A plan's answer in sentences: why a need got nothing, what one more set would change. Pure."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime

from quotes.emergency.allocation import Delivery, Option, Plan, Problem, Unmet
from quotes.emergency.allocation.explain import REASONS, OneMore
from quotes.emergency.planning.differences import RANK_WORDS
from quotes.emergency.planning.situation import at_hour

MOST_NAMED = 3
Effect = tuple[tuple[str, ...], tuple[str, ...], float]


@dataclass(frozen=True, slots=True)
class Naming:
    """Names for what the problem knows by key. ``clock`` writes a moment as staff read it."""

    needs: Mapping[str, str]
    supplies: Mapping[str, str]
    yards: Mapping[str, str]
    set_kw: Mapping[str, float]
    clock: Callable[[datetime], str]


def unmet_words(
    one: Unmet, problem: Problem, made: Plan, more: Sequence[OneMore], naming: Naming, now: datetime
) -> str:
    """Why a need got nothing, what it needs, and the nearest alternative."""
    needs = f"Needs {_needed(one, naming)}: " if one.needs else ""
    reason = f"{needs}{_reason(one, naming, now)}."
    return f"{reason[0].upper()}{reason[1:]} {_alternative(one, problem, made, more, naming, now)}"


def _reason(one: Unmet, naming: Naming, now: datetime) -> str:
    """The allocation's reason, with the names and hours behind it."""
    if one.reason == "all_taken" and one.taken_by:
        return _taken(one, naming)
    if one.next_free is None or one.next_arrival_h is None:
        return REASONS[one.reason]
    code, yard, hour = one.next_free
    free = "now" if hour <= 0 else f"from {naming.clock(at_hour(now, hour))}"
    runs = naming.clock(at_hour(now, one.next_arrival_h))
    none = "" if hour <= 0 else f"none free before {naming.clock(at_hour(now, hour))}; "
    return (
        f"{none}{REASONS[one.reason]} ({code} in {naming.yards[yard]}, free {free}, could run "
        f"there at {runs} at the earliest)"
    )


def more_words(found: Sequence[OneMore], naming: Naming) -> list[str]:
    """What one more set would change, types and yards of the same effect in one sentence."""
    alike: dict[Effect, list[OneMore]] = {}
    for one in found:
        saved_h = round(one.lateness_saved_h, 1)
        if one.newly_served or saved_h > 0:
            served = one.newly_served
            effect = (served, one.no_longer_served, 0.0 if served else saved_h)
            alike.setdefault(effect, []).append(one)
    return [_more(effect, group, naming) for effect, group in alike.items()]


def _more(effect: Effect, group: Sequence[OneMore], naming: Naming) -> str:
    newly_served, lost, saved_h = effect
    codes = sorted({one.set_code for one in group}, key=lambda code: naming.set_kw.get(code, 0.0))
    yards = list(dict.fromkeys(naming.yards[one.yard] for one in group))
    what = f"One more {_either(codes)} in {_either(yards)}"
    if newly_served:
        names = " and ".join(naming.needs[key] for key in newly_served)
        instead = " and ".join(naming.needs[key] for key in lost)
        return f"{what} would serve {names}" + (
            f", and leave {instead} without." if lost else " as well."
        )
    return f"{what} would save {saved_h:.1f} h of waiting in all."


def part_words(problem: Problem, made: Plan, naming: Naming) -> list[str]:
    """For every place that gets part of its load: with what, and what would carry all of it."""
    return [
        _part(one, [o for d in problem.demands if d.sites == one.sites for o in d.options], naming)
        for one in made.deliveries
        if one.share < 1
    ]


def _part(one: Delivery, options: Sequence[Option], naming: Naming) -> str:
    places = " and ".join(naming.needs[key] for key in one.sites)
    gets = Option(one.set_code, len(one.units))
    whole = [option for option in options if option.share >= 1]
    most = f"{_either(_codes(whole).split(', '))} would carry all of it" if whole else ""
    why = f"; {most}, but more is served this way with the sets there are." if whole else "."
    return f"{places} gets {_codes([gets])} for {100 * one.share:.0f} % of its load{why}"


def _either(names: Sequence[str]) -> str:
    return " or ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def goal_words(name: str, value: float, problem: Problem) -> str:
    """One goal of the plan in words."""
    if name.startswith("rank "):
        rank = int(name.removeprefix("rank "))
        asked = sum(site.rank == rank for site in problem.sites)
        return f"{RANK_WORDS.get(rank, name)}: {value:.4g} of {asked} served"
    if name == "pins":
        return f"{value:.4g} of {len(problem.pinned)} pins kept"
    units = {
        "lateness": "h late in all",
        "kept": "places keep their set",
        "distance": "km on the road",
    }
    return f"{value:.4g} {units.get(name, name)}"


def _needed(one: Unmet, naming: Naming) -> str:
    """Supply and rating of the smallest set that would do: ``480Y/277 150 kW (T150, T200)``."""
    by_size = sorted(one.needs, key=lambda option: (_kw(option, naming), option.count))
    least = _kw(by_size[0], naming)
    return f"{naming.supplies.get(one.site, '')} {least:g} kW ({_codes(by_size)})".strip()


def _kw(option: Option, naming: Naming) -> float:
    return option.count * naming.set_kw.get(option.set_code, 0.0)


def _codes(options: Sequence[Option]) -> str:
    named = [f"{o.count} x {o.set_code}" if o.count > 1 else o.set_code for o in options]
    return ", ".join(dict.fromkeys(named))


def _taken(one: Unmet, naming: Naming) -> str:
    named = [
        f"{code} to {naming.needs[key]} ({RANK_WORDS.get(rank, rank)})"
        for code, key, rank in one.taken_by[:MOST_NAMED]
    ]
    more = len(one.taken_by) - len(named)
    rest = f" and {more} more" if more > 0 else ""
    return f"none is free, they go elsewhere: {', '.join(named)}{rest}"


def _alternative(
    one: Unmet, problem: Problem, made: Plan, more: Sequence[OneMore], naming: Naming, now: datetime
) -> str:
    helping = next((m for m in more if one.site in m.newly_served), None)
    if helping is not None:
        yard = naming.yards[helping.yard]
        return f"Nearest alternative: one more {helping.set_code} in {yard}, lent or hired in."
    left = _left_over(problem, made)
    if not left:
        return "Nearest alternative: none; every set in reach has a place."
    code, yard, hour = max(left, key=lambda stock: naming.set_kw.get(stock[0], 0.0))
    when = "now" if hour <= 0 else f"from {naming.clock(at_hour(now, hour))}"
    return (
        f"Nearest alternative: {code} in {naming.yards[yard]}, free {when}; it does not pass the "
        "checks here, so a person agrees with the site on a smaller load first."
    )


def _left_over(problem: Problem, made: Plan) -> list[tuple[str, str, float]]:
    """Stocks with a unit that the plan sends nowhere: type, yard, hour it is free."""
    used = {unit for delivery in made.deliveries for unit in delivery.units}
    return [
        (stock.set_code, stock.yard, stock.free_from_h)
        for stock in problem.stocks
        if set(stock.units) - used
    ]
