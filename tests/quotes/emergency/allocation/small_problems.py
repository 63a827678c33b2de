"""Small problems of every kind, for Hypothesis."""

from __future__ import annotations

from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from quotes.emergency.allocation import Demand, Option, Problem, Site, Stock, Yard

CODES = ("small", "middle", "large")


@st.composite
def options(draw: DrawFn, *, counts: int = 2) -> tuple[Option, ...]:
    one = st.builds(
        Option,
        set_code=st.sampled_from(CODES),
        count=st.integers(1, counts),
        share=st.sampled_from([1.0, 1.0, 0.6, 0.3]),
    )
    return tuple(draw(st.lists(one, max_size=3, unique=True)))


@st.composite
def small_problems(draw: DrawFn, *, most: int = 6) -> Problem:
    """Up to 6 sites and 6 sets, with trucks, combined demands, pins, bans and a plan in force."""
    keys = [f"site {i}" for i in range(draw(st.integers(0, most)))]
    sites = tuple(draw(_site(key)) for key in keys)
    yards = tuple(
        Yard(
            name,
            draw(_degrees(40.0)),
            draw(_degrees(-95.0)),
            trucks=draw(st.integers(0, 3)),
            back_h=draw(st.sampled_from([(), (), (1.0,), (0.5, 2.5)])),
        )
        for name in ("north", "south")
    )
    units = [f"unit {i}" for i in range(draw(st.integers(0, most)))]
    alone = [Demand((key,), draw(options())) for key in keys]
    both = [Demand((keys[0], keys[1]), draw(options(counts=1)))] if len(keys) > 1 else []
    named = st.dictionaries(st.sampled_from(keys), st.sampled_from(units), max_size=2)
    many = st.dictionaries(st.sampled_from(keys), st.sampled_from(units), max_size=4)
    pairs = st.frozensets(st.tuples(st.sampled_from(keys), st.sampled_from(units)), max_size=3)
    could_name = bool(keys and units)
    return Problem(
        sites=sites,
        demands=(*alone, *both),
        yards=yards,
        stocks=draw(_stocks(units)),
        slot_h=draw(st.sampled_from([1.0, 2.0])),
        horizon_h=draw(st.sampled_from([4.0, 6.0])),
        pinned=draw(named) if could_name and draw(st.booleans()) else {},
        forbidden=draw(pairs) if could_name and draw(st.booleans()) else frozenset(),
        before=draw(many) if could_name and draw(st.booleans()) else {},
    )


@st.composite
def _site(draw: DrawFn, key: str) -> Site:
    need = draw(st.sampled_from([0.0, 1.0, 2.5, 3.0, 5.0]))
    return Site(key, draw(st.integers(1, 3)), need, draw(_degrees(40.0)), draw(_degrees(-95.0)))


def _degrees(middle: float) -> st.SearchStrategy[float]:
    return st.integers(-20, 20).map(lambda step: middle + step * 0.0311)


@st.composite
def _stocks(draw: DrawFn, units: list[str]) -> tuple[Stock, ...]:
    found: dict[tuple[str, str, float], list[str]] = {}
    for unit in units:
        where = (
            draw(st.sampled_from(["north", "south"])),
            draw(st.sampled_from(CODES)),
            draw(st.sampled_from([0.0, 0.0, 0.5, 2.0])),
        )
        found.setdefault(where, []).append(unit)
    return tuple(Stock(yard, code, tuple(u), free) for (yard, code, free), u in found.items())
