"""Why a site got nothing, and what one more set would change."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings

from quotes.emergency.allocation import (
    Demand,
    Option,
    Problem,
    Stock,
    Yard,
    more_sets,
    plan,
    unmet_sites,
)
from quotes.emergency.allocation.explain import REASONS
from tests.quotes.emergency.allocation.brute_force import best_goals
from tests.quotes.emergency.allocation.small_problems import small_problems
from tests.quotes.emergency.allocation.test_rules import YARD, one_set_two_sites, site

ONE = one_set_two_sites()
OTHER = Stock("yard", "b", ("other",))
CASES = {
    "all_taken": ONE,
    "not_fit": replace(ONE, demands=ONE.demands[:1]),
    "no_such_set": replace(ONE, demands=(ONE.demands[0], Demand(("office",), (Option("b"),)))),
    "too_few": replace(
        ONE, demands=(ONE.demands[0], Demand(("office",), (Option("b", 2),))),
        stocks=(*ONE.stocks, OTHER),
    ),
    "named_away": replace(
        ONE, demands=(ONE.demands[0], Demand(("office",), (Option("b"),))),
        stocks=(*ONE.stocks, OTHER), forbidden=frozenset({("office", "other")}),
    ),
    "pin_elsewhere": replace(ONE, pinned={"office": "gone"}),
    "too_late": replace(
        ONE, demands=(ONE.demands[0], Demand(("office",), (Option("b"),))),
        stocks=(*ONE.stocks, replace(OTHER, free_from_h=23.0)),
    ),
    "no_truck": replace(
        ONE, demands=(ONE.demands[0], Demand(("office",), (Option("b"),))),
        stocks=(*ONE.stocks, replace(OTHER, yard="bare")),
        yards=(YARD, Yard("bare", 40.0, -95.0, trucks=0)),
    ),
}  # fmt: skip


@pytest.mark.parametrize("reason", CASES)
def test_the_reason_is_the_one_there_is(reason: str) -> None:
    found = unmet_sites(CASES[reason], plan(CASES[reason]))
    assert [(unmet.site, unmet.reason) for unmet in found] == [("office", reason)]


def test_every_reason_has_a_case() -> None:
    assert set(CASES) == set(REASONS)


def test_the_sets_that_went_elsewhere_are_named_with_the_rank_they_went_to() -> None:
    [unmet] = unmet_sites(ONE, plan(ONE))
    assert unmet.taken_by == (("a", "clinic", 1),)
    assert unmet.next_free is None


def test_the_first_set_left_is_named_with_the_hour_it_could_run() -> None:
    problem = CASES["too_late"]
    [unmet] = unmet_sites(problem, plan(problem))
    assert unmet.next_free == ("b", "yard", 23.0)
    drive_h = problem.distance_km(problem.yards[0], problem.sites[1]) / problem.road_km_h
    assert unmet.next_arrival_h == pytest.approx(24.0 + drive_h)


def test_of_two_types_that_could_be_there_at_one_hour_either_is_named() -> None:
    """Two types in one yard, both free, and no truck: nothing tells them apart but their codes."""
    problem = replace(
        ONE,
        demands=(Demand(("office",), (Option("b"), Option("a"))),),
        yards=(replace(YARD, trucks=0),),
        stocks=(OTHER, Stock("yard", "a", ("unit 1",))),
    )
    told = {one.site: one for one in unmet_sites(problem, plan(problem))}["office"]
    assert (told.reason, told.next_free) == ("no_truck", ("a", "yard", 0.0))


def test_one_more_set_serves_the_site_left_without() -> None:
    [more] = more_sets(ONE, plan(ONE))
    assert (more.set_code, more.newly_served, more.no_longer_served) == ("a", ("office",), ())


def test_one_more_set_where_no_truck_stands_changes_nothing() -> None:
    problem = replace(ONE, yards=(YARD, Yard("bare", 40.0, -95.0, trucks=0)))
    found = {more.yard: more.newly_served for more in more_sets(problem, plan(problem))}
    assert found == {"yard": ("office",), "bare": ()}


def test_nobody_asks_for_more_where_all_are_served() -> None:
    problem = replace(ONE, sites=(site("clinic"),), demands=ONE.demands[:1])
    assert more_sets(problem, plan(problem)) == []


@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
@given(small_problems(most=4))
def test_one_more_set_does_what_the_whole_search_says(problem: Problem) -> None:
    made = plan(problem)
    for more in more_sets(problem, made, most=1):
        extra = Stock(more.yard, more.set_code, ("the one more",))
        with_it = replace(problem, stocks=(*problem.stocks, extra), before={})
        after_ranks = 1 + len({s.rank for s in problem.sites})  # pins come first
        hours = sum(d.late_h for d in made.deliveries) - more.lateness_saved_h
        assert hours == pytest.approx(best_goals(with_it)[after_ranks], abs=1e-4)
