"""Chapter 4: the best order of starting by hand, against every order there is."""

from __future__ import annotations

import itertools
import random

import pytest

from sizing.job import read_job
from sizing.order import best_order, needed_kw
from sizing.plate import LoadDemand
from sizing.sequence import sequence
from sizing.steps import ordered_steps, waves
from sizing.trace import Trace
from tests.sizing.electrical_cast import a_step, heater, lamp, row, starts


def plan(*rows: LoadDemand, application: str = "other"):  # type: ignore[no-untyped-def]
    """The best order of these rows with their usual starts."""
    return best_order(rows, starts(list(rows)), application)


def asked_kw(rows: list[LoadDemand], order: tuple[int, ...], application: str) -> float:
    """What an order asks for: the same steps and the same yardstick, no search."""
    job = read_job(rows, starts(rows))
    steps = [*ordered_steps(job, order), *waves(job)]
    return max(needed_kw(step, application) for step in steps)


def by_brute_force(rows: list[LoadDemand], application: str) -> float:
    """The least that any order asks for which keeps all waiting."""
    job = read_job(rows, starts(rows))
    items = [i for i in job.indices if not job.itself[i] for _ in range(pieces(rows[i]))]
    return min(
        asked_kw(rows, order, application)
        for order in set(itertools.permutations(items))
        if keeps_waiting(order, job.followers)
    )


def pieces(one: LoadDemand) -> int:
    return one.quantity if one.is_motor else 1


def keeps_waiting(order: tuple[int, ...], followers: object) -> bool:
    last = {i: n for n, i in enumerate(order)}
    return all(
        last[leader] < order.index(one)
        for leader, those in followers.items()  # type: ignore[attr-defined]
        for one in those
        if leader in last and one in last
    )


@pytest.mark.parametrize(
    ("step", "asked"),
    [
        (a_step(100.0, 0.0), 60.0),  # X'd 0.25 under 25 %: S = S_start, at 0.8
        (a_step(50.0, 1.0), 50.0 / 0.6),  # a kick over 60 %
        (a_step(10.0, 1.0, 90 + 0j), 100.0),  # what the engine gives in that moment
        (a_step(100.0, 0.0, stands=("discharge_lamp",)), 0.8 * 0.25 * 100 * 0.9 / 0.1),
    ],
)
def test_what_a_step_asks_for(step: object, asked: float) -> None:
    assert needed_kw(step, "other") == pytest.approx(asked)  # type: ignore[arg-type]


def test_the_pump_goes_before_the_lamps_that_its_dip_would_put_out() -> None:
    found = plan(lamp(0, "Lamps", quantity=6), row(1, "Pump", kw=6.0), application="dewatering")
    assert found.order == (1, 0)
    assert found.proved
    assert found.needed_kw < found.unordered_kw / 3
    assert found.why.startswith("Start Pump, then Lamps: the steps then ask for a set of about")


def test_the_pump_goes_before_the_heaters() -> None:
    found = plan(heater(0, "Heaters", kw=40.0), row(1, "Pump", kw=20.0, pf=0.9))
    assert found.order == (1, 0)


def test_motors_of_one_row_start_one_by_one() -> None:
    found = plan(row(0, "Pumps", quantity=3))
    assert found.order == (0, 0, 0)
    assert found.needed_kw == pytest.approx(found.unordered_kw / 3)
    assert "motors of one row one by one" in found.why


def test_one_start_by_hand_has_no_order() -> None:
    assert plan(row(0)) is None
    assert plan(row(0), row(1, float_switch=True), heater(2, restarts_itself=True)) is None


def test_an_order_that_saves_nothing_is_not_proposed() -> None:
    found = plan(heater(0, kw=40.0), heater(1, kw=1.0))
    assert found.why == ""
    assert sequence([heater(0), heater(1)], []).order == ()


def test_what_comes_back_by_itself_sets_a_floor() -> None:
    rows = [row(0, float_switch=True), row(1, restarts_itself=True), row(2, kw=1.0), heater(3)]
    found = plan(*rows)
    assert found.needed_kw == found.unordered_kw


def test_a_sequence_proposes_the_order_and_keeps_the_cautious_steps() -> None:
    rows = [lamp(0, "Lamps", quantity=6), row(1, "Pump", kw=6.0)]
    trace = Trace()
    found = sequence(rows, starts(rows), trace, application="dewatering")
    assert found.order == (1, 0)
    assert found.order_proved
    assert found.order_matters in [line.line for line in trace.lines]
    assert found.worst.stands == ("discharge_lamp",)
    kept = sequence(rows, starts(rows), application="dewatering", order=found.order)
    assert kept.worst.stands == ()


def test_many_names_are_not_all_listed() -> None:
    rows = [row(0, "Pump", kw=20.0), *(lamp(i, f"Lamp {i}", quantity=3) for i in range(1, 9))]
    assert plan(*rows).why.count(", then ") == 6
    assert ", then the rest" in plan(*rows).why


def random_rows(rnd: random.Random, count: int) -> list[LoadDemand]:
    """Motors, heaters and lamps with some waiting, some rivals, some starting by themselves."""
    made = []
    for i in range(count):
        kind = rnd.choice(("motor", "motor", "heater", "lamp", "electronics"))
        made.append(
            row(
                i, f"L{i}", rnd.uniform(1, 20), rnd.choice((0.8, 0.9, 1.0)), kind=kind,
                is_motor=kind == "motor", phases=rnd.choice((1, 3, 3)),
                quantity=rnd.choice((1, 1, 1, 2)),
                lamp_type=rnd.choice((None, "led")), float_switch=rnd.random() < 0.15,
                starts_after=f"L{rnd.randrange(i)}" if i and rnd.random() < 0.25 else None,
                never_with=f"L{rnd.randrange(count)}" if rnd.random() < 0.2 else None,
            )
        )  # fmt: skip
    return made


@pytest.mark.parametrize("seed", range(60))
def test_no_order_asks_for_less(seed: int) -> None:
    rnd = random.Random(seed)
    rows = random_rows(rnd, rnd.randint(2, 5))
    application = rnd.choice(("other", "dewatering", "emergency"))
    found = plan(*rows, application=application)
    if found is None or len(found.order) > 6:
        return
    assert found.proved
    assert found.needed_kw == pytest.approx(by_brute_force(rows, application))
    assert found.needed_kw == pytest.approx(asked_kw(rows, found.order, application))


def test_ten_loads_are_proved_and_no_shuffle_does_better() -> None:
    rnd = random.Random(7)
    rows = [r for r in random_rows(rnd, 14) if r.quantity == 1][:10]
    found = plan(*rows)
    assert found.proved
    for _ in range(300):
        order = tuple(rnd.sample(sorted(set(found.order)), len(set(found.order))))
        if keeps_waiting(order, read_job(rows, starts(rows)).followers):
            assert found.needed_kw <= asked_kw(rows, order, "other") + 1e-9


@pytest.mark.parametrize("seed", range(4))
def test_beyond_sixty_starts_the_order_is_sorted_keeps_waiting_and_is_not_proved(seed: int) -> None:
    rows = random_rows(random.Random(seed), 90)
    found = plan(*rows)
    job = read_job(rows, starts(rows))
    assert not found.proved
    assert sorted(set(found.order)) == [i for i in job.indices if not job.itself[i]]
    assert keeps_waiting(found.order, job.followers)
    assert found.needed_kw == pytest.approx(asked_kw(rows, found.order, "other"))


def test_beyond_sixty_without_waiting_the_large_excess_goes_first() -> None:
    rows = [row(i, kw=1.0 + i) for i in range(70)]
    assert plan(*rows).order == tuple(reversed(range(70)))
