"""What a plan must and may not do, on problems small enough to see through."""

from __future__ import annotations

from dataclasses import replace
from unittest.mock import patch

import pytest

from quotes.emergency.allocation import Demand, Option, Problem, Site, Stock, Yard, plan
from quotes.emergency.allocation.columns import gifts, split_stocks
from tests.quotes.emergency.allocation.brute_force import faults

YARD = Yard("yard", 40.0, -95.0, trucks=4)


def site(key: str, *, rank: int = 1, need: float = 6.0, north: float = 0.1) -> Site:
    return Site(key, rank, need, 40.0 + north, -95.0)


def one_set_two_sites() -> Problem:
    """One set, asked for by a clinic of rank 1 and an office of rank 3."""
    return Problem(
        sites=(site("clinic", rank=1), site("office", rank=3)),
        demands=(Demand(("clinic",), (Option("a"),)), Demand(("office",), (Option("a"),))),
        yards=(YARD,),
        stocks=(Stock("yard", "a", ("unit 1",)),),
    )


def served(problem: Problem) -> dict[str, tuple[str, ...]]:
    made = plan(problem)
    assert faults(problem, made) == []
    return {key: d.units for d in made.deliveries for key in d.sites}


def test_the_higher_rank_gets_the_only_set() -> None:
    assert served(one_set_two_sites()) == {"clinic": ("unit 1",)}


def test_no_sites_no_sets_no_yards() -> None:
    problem = one_set_two_sites()
    assert plan(replace(problem, sites=(), demands=())).deliveries == ()
    assert plan(replace(problem, stocks=())).unmet == ("clinic", "office")
    assert plan(replace(problem, yards=(), stocks=())).unmet == ("clinic", "office")
    assert plan(replace(problem, stocks=())).proven


def test_a_site_without_an_option_gets_nothing_even_where_sets_stand_idle() -> None:
    problem = replace(one_set_two_sites(), demands=(Demand(("office",), (Option("b"),)),))
    assert served(problem) == {}


def test_a_need_past_the_horizon_is_served_within_it_and_on_time() -> None:
    problem = replace(one_set_two_sites(), sites=(site("clinic", need=90.0), site("office")))
    made = plan(problem)
    assert [d.late_h for d in made.deliveries] == [0.0]


def test_a_set_free_only_past_the_horizon_is_not_sent() -> None:
    late = Stock("yard", "a", ("unit 1",), free_from_h=30.0)
    assert served(replace(one_set_two_sites(), stocks=(late,))) == {}


def test_a_yard_without_trucks_sends_nothing() -> None:
    assert served(replace(one_set_two_sites(), yards=(replace(YARD, trucks=0),))) == {}


def test_a_pin_beats_the_rank() -> None:
    assert served(replace(one_set_two_sites(), pinned={"office": "unit 1"})) == {
        "office": ("unit 1",)
    }


def test_a_pin_that_cannot_be_kept_costs_nobody_else_his_set() -> None:
    problem = replace(
        one_set_two_sites(),
        stocks=(Stock("yard", "a", ("unit 1",)), Stock("yard", "b", ("unit 2",))),
        pinned={"office": "unit 2"},
    )
    assert served(problem) == {"clinic": ("unit 1",)}


def test_a_unit_pinned_to_two_sites_serves_one_of_them() -> None:
    problem = replace(one_set_two_sites(), pinned={"office": "unit 1", "clinic": "unit 1"})
    assert served(problem) == {"clinic": ("unit 1",)}


def test_what_is_forbidden_goes_to_the_next() -> None:
    problem = replace(one_set_two_sites(), forbidden=frozenset({("clinic", "unit 1")}))
    assert served(problem) == {"office": ("unit 1",)}


def test_two_sets_at_once_come_also_where_one_of_them_is_known_by_name() -> None:
    problem = replace(
        one_set_two_sites(),
        demands=(Demand(("clinic",), (Option("a", count=2),)),),
        stocks=(Stock("yard", "a", ("unit 1", "unit 2")),),
        before={"office": "unit 1"},
    )
    assert served(problem) == {"clinic": ("unit 1", "unit 2")}


def test_two_sets_free_at_two_hours_leave_when_both_are_free() -> None:
    problem = replace(
        one_set_two_sites(),
        demands=(Demand(("clinic",), (Option("a", count=2),)),),
        stocks=(Stock("yard", "a", ("unit 1",)), Stock("yard", "a", ("unit 2",), 3.5)),
    )
    assert [d.depart_h for d in plan(problem).deliveries] == [4.0]


def test_one_set_for_two_neighbours_spares_the_second() -> None:
    problem = one_set_two_sites()
    both = Demand(("clinic", "office"), (Option("a"),))
    assert served(replace(problem, demands=(*problem.demands, both))) == {
        "clinic": ("unit 1",),
        "office": ("unit 1",),
    }


def test_part_of_a_load_beats_none_and_the_whole_beats_part() -> None:
    problem = replace(
        one_set_two_sites(),
        demands=(Demand(("clinic",), (Option("a"), Option("b", share=0.4))),),
        stocks=(Stock("yard", "b", ("little",)),),
    )
    assert served(problem) == {"clinic": ("little",)}
    more = replace(problem, stocks=(*problem.stocks, Stock("yard", "a", ("unit 1",))))
    assert served(more) == {"clinic": ("unit 1",)}


@pytest.mark.parametrize("before", [("u1", "u2"), ("u2", "u1"), ("u3", "u1")])
def test_a_new_plan_leaves_every_set_where_it_stands_if_nothing_else_is_won(
    before: tuple[str, str],
) -> None:
    problem = replace(
        one_set_two_sites(),
        stocks=(Stock("yard", "a", ("u1", "u2", "u3")),),
        before=dict(zip(("clinic", "office"), before, strict=True)),
    )
    assert served(problem) == {"clinic": (before[0],), "office": (before[1],)}


def test_planning_again_looks_at_no_more_gifts_than_planning() -> None:
    """Else a large event that is planned again would be another problem than the first time."""
    first = replace(
        one_set_two_sites(), stocks=(Stock("yard", "a", tuple(f"u{n}" for n in range(9))),)
    )
    again = replace(first, before={"clinic": "u3", "office": "u7"})
    kept = [gift.kept for gift in gifts(again, split_stocks(again))]
    assert len(kept) == len(gifts(first, split_stocks(first))) == 2
    assert kept == [1, 1]


def test_of_two_that_had_one_set_together_one_keeps_it_where_they_part() -> None:
    problem = replace(
        one_set_two_sites(),
        stocks=(Stock("yard", "a", ("u1", "u2")),),
        before={"clinic": "u2", "office": "u2"},
    )
    assert sorted(served(problem).values()) == [("u1",), ("u2",)]
    kept = next(goal for goal in plan(problem).goals if goal.name == "kept")
    assert (kept.value, kept.bound) == (1, 1)


def test_two_that_are_served_together_keep_no_more_sets_than_they_get() -> None:
    problem = replace(
        one_set_two_sites(),
        demands=(Demand(("clinic", "office"), (Option("a"),)),),
        stocks=(Stock("yard", "a", ("u1", "u2", "u3")),),
        before={"clinic": "u3", "office": "u2"},
    )
    (units,) = set(served(problem).values())
    assert units in {("u2",), ("u3",)}
    assert next(goal for goal in plan(problem).goals if goal.name == "kept").value == 1


@pytest.mark.parametrize(("north", "unit"), [(0.2, "far"), (0.4, "near")])
def test_in_a_large_plan_a_set_is_changed_only_for_a_quarter_of_an_hour(
    north: float, unit: str
) -> None:
    """0.1 degree of latitude is 11.1 km, so 14.5 km by road and 16 minutes at 55 km/h."""
    near, far = replace(YARD, key="near"), replace(YARD, key="far", latitude_deg=40.15 - north)
    problem = Problem(
        sites=(site("clinic", need=0.0, north=0.1),),
        demands=(Demand(("clinic",), (Option("a"),)),),
        yards=(near, far),
        stocks=(Stock("near", "a", ("near",)), Stock("far", "a", ("far",))),
        before={"clinic": "far"},
    )
    with patch("quotes.emergency.allocation.solve.SMALL", 0):
        assert served(problem) == {"clinic": (unit,)}
    assert served(problem) == {"clinic": ("near",)}  # a small one is exact, goal by goal


def test_a_large_plan_made_again_stays_where_there_is_no_time_to_look() -> None:
    problem = replace(
        one_set_two_sites(),
        sites=(site("clinic"), site("office", rank=1)),
        stocks=(Stock("yard", "a", ("u1",)), Stock("yard", "a", ("u2",), 1.0)),
        before={"clinic": "u2", "office": "u1"},
    )
    with patch("quotes.emergency.allocation.solve.SMALL", 0):
        made = plan(problem, seconds=0.0)
    assert {d.sites[0]: d.units for d in made.deliveries} == {"clinic": ("u2",), "office": ("u1",)}


def test_a_site_keeps_its_set_rather_than_an_equal_one_that_has_none() -> None:
    problem = replace(
        one_set_two_sites(),
        sites=(site("clinic"), site("office", rank=1)),
        before={"office": "unit 1"},
    )
    assert served(problem) == {"office": ("unit 1",)}


def test_a_set_that_breaks_down_moves_only_its_own_site() -> None:
    sites = tuple(site(f"site {i}") for i in range(4))
    problem = Problem(
        sites=sites,
        demands=tuple(Demand((s.key,), (Option("a"),)) for s in sites),
        yards=(YARD,),
        stocks=(Stock("yard", "a", ("u1", "u2", "u3", "spare")),),
        before={"site 0": "u0", "site 1": "u1", "site 2": "u2", "site 3": "u3"},
    )
    assert served(problem) == {
        "site 0": ("spare",),
        "site 1": ("u1",),
        "site 2": ("u2",),
        "site 3": ("u3",),
    }


def test_trucks_are_shared_in_order_of_need() -> None:
    problem = Problem(
        sites=(site("late", need=9.0), site("soon", need=2.0)),
        demands=(Demand(("late",), (Option("a"),)), Demand(("soon",), (Option("a"),))),
        yards=(replace(YARD, trucks=1),),
        stocks=(Stock("yard", "a", ("u1", "u2")),),
    )
    made = plan(problem)
    assert [d.sites for d in made.deliveries] == [("soon",), ("late",)]
    assert sum(d.late_h for d in made.deliveries) == 0
