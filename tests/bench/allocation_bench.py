"""How long a plan for many sites takes, and how far from the best it may be.

    python -m tests.bench.allocation_bench             200 sites, 150 sets, 8 yards
    python -m tests.bench.allocation_bench growth      the same up to 2,000 sites and 1,000 sets
    python -m tests.bench.allocation_bench growth 20   within 20 s each, as a running service plans

A plan of more than 200 sites has a second for every ten of them where no time is said.
Nothing is asserted. Processor seconds and the load of the machine stand beside the seconds of the
clock, since a busy machine stretches the one and not the other. A gap is how far a goal may at most
be from the best; where little lateness is left, its hours say more than its percent.
"""

from __future__ import annotations

import os
import random
import sys
import time

from quotes.emergency.allocation import Demand, Option, Plan, Problem, Site, Stock, Yard, plan

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


def main(words: list[str]) -> None:
    sizes = GROWTH if "growth" in words else ((200, 150, 8),)
    said = [float(word) for word in words if word.isdigit()]
    for sites, sets, yards in sizes:
        seconds = said[0] if said else 20.0 * max(1.0, sites / 200)
        for sets_a_truck, trucks in ((5, "few trucks"), (3, "more trucks")):
            problem = county(sites, sets, yards, sets_a_truck=sets_a_truck)
            measure(f"{sites} x {sets} x {yards}, {trucks}", problem, seconds)


if __name__ == "__main__":
    main(sys.argv[1:])
