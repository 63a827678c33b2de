"""Plain rows become the allocation's problem; what may not be in it is said with its reason."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

from quotes.emergency.allocation import Option, Stock, plan
from quotes.emergency.planning.differences import Facts, Given, Kind, differences
from quotes.emergency.planning.situation import (
    ChoiceRow,
    CombinedRow,
    NeedRow,
    Situation,
    UnitRow,
    YardRow,
    asked,
)
from quotes.emergency.planning.stored import steady

NOW = datetime(2027, 1, 15, 23, tzinfo=UTC)
SMALL, PAIR = Option("T60"), Option("T60", 2)


def need(key: str, *options: Option, rank: int = 2, **more: object) -> NeedRow:
    row = NeedRow(
        key, key.title(), rank, NOW + timedelta(hours=6), 44.5, -75.2, options or (SMALL,)
    )
    return replace(row, **more)  # type: ignore[arg-type]


def unit(number: str, *, hours: float = 0) -> UnitRow:
    return UnitRow(number, "T60", "NORTH", NOW + timedelta(hours=hours))


def situation(*needs: NeedRow, units: int = 2, **more: object) -> Situation:
    yard = YardRow("NORTH", "North yard", 44.6, -75.1, trucks=2)
    made = Situation(NOW, needs, tuple(unit(f"U{n}") for n in range(1, units + 1)), (yard,))
    return replace(made, **more)  # type: ignore[arg-type]


def test_a_need_that_waits_for_a_person_is_left_out_with_its_reason() -> None:
    found = asked(situation(need("hospital", waits="A life may depend on it."), need("well")))
    assert [site.key for site in found.problem.sites] == ["well"]
    assert [(one.key, one.why) for one in found.left_out] == [
        ("hospital", "A life may depend on it.")
    ]


def test_a_need_without_a_place_is_left_out_and_the_reason_says_what_to_do() -> None:
    found = asked(situation(need("well", latitude_deg=None)))
    assert "give its ZIP" in found.left_out[0].why
    assert found.problem.sites == ()


def test_hours_count_from_now_and_what_is_overdue_counts_below_zero() -> None:
    found = asked(situation(need("well", need_by=NOW - timedelta(minutes=90))))
    assert found.problem.sites[0].need_by_h == -1.5


def test_units_of_one_type_yard_and_hour_are_one_stock() -> None:
    rows = (unit("U2"), unit("U1"), unit("U3", hours=5), unit("U4", hours=-3))
    found = asked(replace(situation(need("well")), units=rows)).problem
    assert found.stocks == (
        Stock("NORTH", "T60", ("U1", "U2", "U4"), 0.0),
        Stock("NORTH", "T60", ("U3",), 5.0),
    )


def test_needs_near_each_other_are_asked_for_together_only_while_both_are_open() -> None:
    pair = CombinedRow(("hall", "library"), (SMALL,))
    both = situation(need("hall"), need("library"), combined=(pair,))
    assert ("hall", "library") in [demand.sites for demand in asked(both).problem.demands]
    one = situation(need("hall"), need("library", waits="Person."), combined=(pair,))
    assert [demand.sites for demand in asked(one).problem.demands] == [("hall",)]


def test_one_set_serves_two_needs_near_each_other_where_there_are_too_few() -> None:
    pair = CombinedRow(("hall", "library"), (SMALL,))
    found = asked(situation(need("hall"), need("library"), combined=(pair,), units=1))
    made = plan(found.problem, seconds=2)
    assert [delivery.sites for delivery in made.deliveries] == [("hall", "library")]
    assert made.unmet == ()


def test_a_pin_is_kept_and_a_ban_as_well() -> None:
    words = (ChoiceRow("hall", "U2", pinned=True), ChoiceRow("well", "U1", pinned=False))
    found = asked(situation(need("hall"), need("well"), choices=words))
    assert found.problem.pinned == {"hall": "U2"}
    assert found.problem.forbidden == {("well", "U1")}
    made = plan(found.problem, seconds=2)
    assert {d.sites[0]: d.units for d in made.deliveries} == {"hall": ("U2",)}


def test_a_pin_that_fails_the_checks_is_not_kept_and_says_why() -> None:
    pinned = (ChoiceRow("hall", "U1", pinned=True),)
    found = asked(situation(need("hall", PAIR), choices=pinned))
    assert found.problem.pinned == {}
    assert "does not pass every check" in found.choices_dropped[0].why


def test_a_pin_to_a_set_that_is_gone_is_not_kept() -> None:
    pinned = (ChoiceRow("hall", "U9", pinned=True),)
    assert "not free" in asked(situation(need("hall"), choices=pinned)).choices_dropped[0].why


def test_trucks_under_way_count_from_when_they_are_back() -> None:
    back = (NOW + timedelta(hours=3), NOW + timedelta(hours=1.5))
    yard = YardRow("NORTH", "North yard", 44.6, -75.1, trucks=3, back_at=back)
    problem = asked(situation(need("well"), yards=(yard,))).problem
    (found,) = problem.yards
    assert (found.trucks, found.back_h) == (1, (1.5, 3.0))
    assert [problem.trucks_in(found, slot) for slot in (0, 2, 3, 6)] == [1, 1, 2, 3]
    fewer = replace(yard, trucks=1)  # the branch has parted with trucks meanwhile
    (found,) = asked(situation(need("well"), yards=(fewer,))).problem.yards
    assert (found.trucks, found.back_h) == (0, (3.0,))


def test_a_set_that_is_gone_is_nothing_to_stay_with() -> None:
    found = asked(situation(need("well"), before={"well": "U9", "other": "U1"}))
    assert found.problem.before == {}


def test_a_pair_in_force_keeps_its_names() -> None:
    found = asked(situation(need("hall"), need("plant", PAIR), units=3))
    made = plan(found.problem, seconds=2)
    kept = steady(found.problem, made, {"plant": ["U2", "U3"], "hall": ["U1"]})
    assert {d.sites[0]: set(d.units) for d in kept.deliveries} == {
        "plant": {"U2", "U3"},
        "hall": {"U1"},
    }


def test_names_dealt_out_anew_spare_what_a_pair_has_of_the_same_stock() -> None:
    """A pair may take one set of now and one that comes back later: two stocks."""
    units = (unit("U1"), unit("U2"), unit("U9", hours=2))
    found = asked(replace(situation(need("hall"), need("plant", PAIR)), units=units)).problem
    made = plan(found, seconds=2)
    assert len(made.deliveries) == 2
    for before in ({}, {"hall": ["U1"]}, {"hall": ["U2"]}, {"plant": ["U1", "U2"]}):
        given_ = [name for one in steady(found, made, before).deliveries for name in one.units]
        assert sorted(given_) == ["U1", "U2", "U9"]


# ---- differences -------------------------------------------------------------------------------

NAMES = {key: key.title() for key in ("hall", "well", "plant", "clinic")}
RANKS = {"clinic": 1, "plant": 2, "well": 2, "hall": 3}


def given(*units: str, hour: float = 2) -> Given:
    return Given(units, NOW + timedelta(hours=hour))


def kinds(before: dict[str, Given], after: dict[str, Given], **more: object) -> dict[str, str]:
    facts = Facts(NAMES, RANKS, **more)  # type: ignore[arg-type]
    return {one.key: f"{one.kind}: {one.why}" for one in differences(before, after, facts)}


def test_a_lower_rank_gives_its_set_to_a_new_life_saving_need() -> None:
    found = kinds({"hall": given("U1")}, {"clinic": given("U1")}, fresh=frozenset({"clinic"}))
    assert found["clinic"].startswith("new: It came in since the plan in force. U1 was meant for")
    assert found["hall"] == (
        "dropped: U1 goes to Clinic (life-saving). No other set that passes its checks is left "
        "for it."
    )


def test_a_set_that_failed_is_named_with_its_fault() -> None:
    gone = {"U1": "is in the workshop: no start"}
    found = kinds({"well": given("U1")}, {"well": given("U2")}, gone=gone)
    assert found["well"] == "other_set: U1 is in the workshop: no start. U2 stood in the yard."


def test_a_need_that_is_over_frees_its_set() -> None:
    ended = {"plant": "It has its power back."}
    found = kinds({"plant": given("U1")}, {"well": given("U1")}, ended=ended)
    assert found["plant"] == "ended: It has its power back."
    assert "which needs it no more" in found["well"]


def test_a_quarter_of_an_hour_is_worth_saying_and_less_is_not() -> None:
    assert kinds({"well": given("U1")}, {"well": given("U1", hour=2.25)})["well"] == (
        "other_time: The trucks leave for others first."
    )
    assert kinds({"well": given("U1")}, {"well": given("U1", hour=2.2)})["well"] == "same: "


def test_changes_come_first_then_by_rank() -> None:
    facts = Facts(NAMES, RANKS)
    before = {"clinic": given("U1"), "hall": given("U2"), "well": given("U3")}
    after = {"clinic": given("U1"), "hall": given("U3"), "well": given("U2")}
    order = [one.key for one in differences(before, after, facts)]
    assert order == ["well", "hall", "clinic"]
    assert differences(before, before, facts)[0].kind is Kind.SAME
