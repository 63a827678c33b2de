"""How long a plan for many sites takes, and how far from the best it may be.

    python -m tests.bench.allocation_bench             200 sites, 150 sets, 8 yards
    python -m tests.bench.allocation_bench growth      the same up to 2,000 sites and 1,000 sets
    python -m tests.bench.allocation_bench growth 20   within 20 s each
    python -m tests.bench.allocation_bench again       planned again as sites and sets come and go

Where no time is said, a plan has what a running service gives it by its size.
Nothing is asserted. Processor seconds and the load of the machine stand beside the seconds of the
clock, since a busy machine stretches the one and not the other. A gap is how far a goal may at most
be from the best; where little lateness is left, its hours say more than its percent.
"""

from __future__ import annotations

import os
import random
import sys
import time
from dataclasses import replace

import django

from quotes.emergency.allocation import Demand, Option, Plan, Problem, Site, Stock, Yard, plan
from quotes.emergency.planning.stored import steady

CODES = ("20", "45", "70", "125", "180", "300")
WANTED = (4, 5, 5, 3, 2, 1)  # how often a size is asked for and held
GROWTH = (
    (50, 40, 4),
    (100, 75, 6),
    (200, 150, 8),
    (500, 300, 10),
    (1000, 500, 12),
    (2000, 1000, 16),
)
AGAIN = ((200, 150, 8), (500, 300, 10), (1000, 500, 12))


def county(sites: int, sets: int, yards: int, *, sets_a_truck: int = 5, seed: int = 7) -> Problem:
    """An invented county, its area growing with its sites; half its sites are of the last rank."""
    draw = random.Random(seed)
    side_degrees = 1.2 * (sites / 200) ** 0.5

    def place() -> tuple[float, float]:
        return 40 + draw.uniform(0, side_degrees), -95 + draw.uniform(0, side_degrees)

    trucks = max(2, sets // yards // sets_a_truck)
    homes = tuple(Yard(f"yard {i}", *place(), trucks) for i in range(yards))
    places = tuple(
        Site(
            f"site {i:04}",
            draw.choices((1, 2, 3), (2, 3, 5))[0],
            draw.choice((3.0, 4.0, 6.0, 8.0, 12.0)),
            *place(),
        )
        for i in range(sites)
    )
    demands = tuple(Demand((p.key,), _options(draw)) for p in places)
    held: dict[tuple[str, str, float], list[str]] = {}
    for i in range(sets):
        code = draw.choices(CODES, WANTED)[0]
        free_h = 0.0 if draw.random() < 0.8 else draw.choice((2.0, 5.0, 9.0))
        held.setdefault((draw.choice(homes).key, code, free_h), []).append(f"unit {i:04}")
    stocks = tuple(Stock(y, c, tuple(units), h) for (y, c, h), units in sorted(held.items()))
    return Problem(places, demands, homes, stocks)


def _options(draw: random.Random) -> tuple[Option, ...]:
    """The smallest that does, the next larger; some can do with part, or take two smaller ones."""
    size = draw.choices(range(len(CODES)), WANTED)[0]
    found = [Option(code) for code in CODES[size : size + 2]]
    if size and draw.random() < 0.3:
        found.append(Option(CODES[size - 1], share=0.6))
    if size and draw.random() < 0.15:
        found.append(Option(CODES[size - 1], count=2))
    return tuple(found)


def measure(name: str, problem: Problem, seconds: float) -> Plan:
    began_s = time.process_time()
    made = plan(problem, seconds=seconds)
    used_s = time.process_time() - began_s
    print(
        f"{name}: {len(made.deliveries)} deliveries, {made.seconds:.1f} s of the clock, "
        f"{used_s:.1f} s of processor, load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores"
    )
    for goal in made.goals:
        apart = abs(goal.value - goal.bound)
        print(
            f"    {goal.name:10} {goal.value:10.2f}  bound {goal.bound:10.2f}"
            f"  gap {goal.gap_percent:6.2f} %  {apart:.2f} in all"
        )
    return made


def an_hour_on(problem: Problem, made: Plan, *, part: float = 0.03, seed: int = 11) -> Problem:
    """The same county when some sites have power again, some are new, sets failed and sets came.

    ``part`` of each. No truck has left yet, so every set may still be sent elsewhere: the hardest.
    """
    draw = random.Random(seed)
    sites, sets = len(problem.sites), sum(len(stock.units) for stock in problem.stocks)
    sent = sorted(unit for delivery in made.deliveries for unit in delivery.units)
    over = set(draw.sample([site.key for site in problem.sites], round(part * sites)))
    failed = set(draw.sample(sent, round(part * sets)))
    fresh = county(round(part * sites), round(part * sets), len(problem.yards), seed=seed)
    side = 1.2 * (sites / 200) ** 0.5
    new = [
        replace(site, key=f"new {site.key}", latitude_deg=40 + draw.uniform(0, side),
                longitude_deg=-95 + draw.uniform(0, side))
        for site in fresh.sites
    ]  # fmt: skip
    stocks = [
        replace(stock, units=tuple(unit for unit in stock.units if unit not in failed))
        for stock in problem.stocks
    ]
    came = [replace(one, units=tuple(f"new {unit}" for unit in one.units)) for one in fresh.stocks]
    stays = {d.sites[0]: d.units[0] for d in made.deliveries if len(d.units) == 1}
    return replace(
        problem,
        sites=(*(site for site in problem.sites if site.key not in over), *new),
        demands=(
            *(one for one in problem.demands if not over & set(one.sites)),
            *(replace(one, sites=(f"new {one.sites[0]}",)) for one in fresh.demands),
        ),
        stocks=tuple(stock for stock in (*stocks, *came) if stock.units),
        before={k: u for k, u in stays.items() if k not in over and u not in failed},
    )


def compared(problem: Problem, first: Plan, again: Plan) -> None:
    """How many deliveries the second plan changes, and how many of them it need not."""
    there = {unit for stock in problem.stocks for unit in stock.units}
    asked = {site.key for site in problem.sites}
    had = {d.sites[0]: d for d in first.deliveries if d.sites[0] in asked}
    gets = {d.sites[0]: d for d in again.deliveries}
    lost = [key for key, one in had.items() if not set(one.units) <= there]
    free = {key: one for key, one in had.items() if set(one.units) <= there}
    other = [k for k, one in free.items() if k in gets and set(gets[k].units) != set(one.units)]
    dropped = [key for key in free if key not in gets]
    hours = [k for k in free if k in gets and abs(gets[k].arrive_h - free[k].arrive_h) >= 0.25]
    kept = next((goal for goal in again.goals if goal.name == "kept"), None)
    spare = f"{abs(kept.bound - kept.value):.0f} of them at most need not" if kept else "no bound"
    print(
        f"    of {len(had)} deliveries {len(lost)} lost their set; of the other {len(free)}: "
        f"{len(other)} get another set, {len(dropped)} none ({spare}), "
        f"{len(set(hours) - set(other))} the same set at another hour"
    )


def again(sizes: tuple[tuple[int, int, int], ...], said: list[float]) -> None:
    for sites, sets, yards in sizes:
        problem = county(sites, sets, yards)
        seconds = said[0] if said else plan_seconds(sites, sets)
        first = measure(f"{sites} x {sets} x {yards}", problem, seconds)
        later = an_hour_on(problem, first)
        had = {d.sites[0]: d.units for d in first.deliveries}
        second = measure("    planned again", later, seconds)
        compared(later, first, steady(later, second, had))


def plan_seconds(sites: int, sets: int) -> float:
    """As the service counts it."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "config.settings")
    django.setup()
    from quotes.emergency.planning.limits import plan_seconds as by_size

    return by_size(sites, sets)


def main(words: list[str]) -> None:
    said = [float(word) for word in words if word.isdigit()]
    if "again" in words:
        again(AGAIN, said)
        return
    sizes = GROWTH if "growth" in words else ((200, 150, 8),)
    for sites, sets, yards in sizes:
        seconds = said[0] if said else plan_seconds(sites, sets)
        for sets_a_truck, trucks in ((5, "few trucks"), (3, "more trucks")):
            problem = county(sites, sets, yards, sets_a_truck=sets_a_truck)
            measure(f"{sites} x {sets} x {yards}, {trucks}", problem, seconds)


if __name__ == "__main__":
    main(sys.argv[1:])
