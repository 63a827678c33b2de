"""Chapter 8: single-phase pieces placed, against every placing there is."""

from __future__ import annotations

import itertools
import math
import random
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sizing.errors import TableRefused
from sizing.harmonics import unbalance_percent
from sizing.lines import SYSTEMS, high_leg_volts
from sizing.phases import PhaseSpread, PhasesRefused, spread
from sizing.placing import phasor
from sizing.plate import LoadDemand
from sizing.trace import Trace
from tests.sizing.electrical_cast import heater, row, single


def worst(found: PhaseSpread) -> float:
    return max(found.phase_amps)


def by_brute_force(rows: list[LoadDemand], name: str) -> float:
    """The least worst line over every placing, by phasors written out again."""
    system = SYSTEMS[name]
    base = [0j, 0j, 0j]
    loose = []
    for one in rows:
        current = phasor(one.amps, one.power_factor)
        places = system.line_neutral if one.connection == "line_neutral" else system.line_line
        if one.phases == 3:
            base = [b + current * u for b, u in zip(base, system.balanced, strict=True)]
        else:
            loose += [[tuple(current * u for u in place.unit) for place in places]] * one.quantity
    return min(
        max(abs(b + sum(part)) for b, part in zip(base, zip(*chosen, strict=True), strict=True))
        if chosen
        else max(map(abs, base))
        for chosen in itertools.product(*loose)
    )


@pytest.mark.parametrize(
    ("name", "places"),
    [
        ("208Y/120", {"A", "B", "C"}), ("480Y/277", {"A", "B", "C"}), ("120/240", {"L1", "L2"}),
        ("240/120", {"A", "C"}),
    ],
)  # fmt: skip
def test_line_to_neutral_pieces_sit_on_these_legs_never_on_the_high_leg(
    name: str, places: set[str]
) -> None:
    found = spread([single(0, 10.0, quantity=6)], name)
    assert {place for _, place in found.placement} == places


def test_three_equal_pieces_balance() -> None:
    found = spread([single(0, 10.0, quantity=3)], "208Y/120")
    assert found.phase_amps == pytest.approx((10, 10, 10))
    assert found.neutral_amps == pytest.approx(0, abs=1e-9)
    assert found.unbalance_percent == pytest.approx(0, abs=1e-9)
    assert found.proved
    assert found.lower_bound_amps == pytest.approx(10)


def test_three_pieces_between_lines_are_a_balanced_delta() -> None:
    found = spread([single(0, 10.0, "line_line", quantity=3)], "480Y/277")
    assert found.phase_amps == pytest.approx((10 * math.sqrt(3),) * 3)
    assert found.neutral_amps == 0


def test_one_piece_between_lines_loads_two_of_them() -> None:
    found = spread([single(0, 10.0, "line_line")], "480Y/277")
    assert sorted(found.phase_amps) == pytest.approx([0, 10, 10])


def test_the_legs_of_a_single_phase_system() -> None:
    found = spread([single(0, 10.0, quantity=3), single(1, 5.0, "line_line")], "120/240")
    assert found.phase_amps == pytest.approx((25, 15, 0)) or found.phase_amps == pytest.approx(
        (15, 25, 0)
    )
    assert found.neutral_amps == pytest.approx(10)
    assert found.unbalance_percent == pytest.approx(25)


def test_a_three_phase_row_loads_all_lines_alike() -> None:
    found = spread([row(0, kw=83.1384, pf=1.0)], "480Y/277")
    assert found.phase_amps == pytest.approx((100, 100, 100), rel=1e-4)
    assert found.proved


def test_three_phase_loads_are_refused_on_one_phase() -> None:
    with pytest.raises(PhasesRefused, match="Pump: three-phase on 120/240"):
        spread([row(0, "Pump"), single(1, 5.0)], "120/240")


def test_an_unknown_system_is_refused() -> None:
    with pytest.raises(TableRefused, match="600Y/347"):
        spread([], "600Y/347")


def test_nothing_draws_nothing() -> None:
    found = spread([], "208Y/120")
    assert found.phase_amps == (0, 0, 0)
    assert found.unbalance_percent == 0
    assert found.proved


def test_the_demand_factor_lessens_the_amps() -> None:
    assert worst(spread([single(0, 10.0, demand_factor=0.5)], "208Y/120")) == pytest.approx(5)


def test_a_load_behind_a_transformer_draws_by_its_kva_between_lines() -> None:
    behind = single(0, 40.0, via="transformer")
    found = spread([behind], "480Y/277")
    assert worst(found) == pytest.approx(4.8 * 1000 / 480)
    three = row(1, kw=10.0, pf=1.0, via="transformer", amps=999.0)
    assert worst(spread([three], "480Y/277")) == pytest.approx(10_000 / 480 / math.sqrt(3))


def test_third_harmonics_add_in_a_wye_and_cancel_between_two_legs() -> None:
    rows = [single(0, 10.0, quantity=6, third_harmonic_share=0.7)]
    wye, legs = (spread(rows, name) for name in ("208Y/120", "120/240"))
    assert wye.neutral_amps == pytest.approx(0, abs=1e-9)
    assert wye.third_harmonic_amps == pytest.approx(6 * 7)
    assert legs.third_harmonic_amps == pytest.approx(0, abs=1e-9)
    one = spread([single(0, 10.0, third_harmonic_share=0.7)], "120/240")
    assert one.third_harmonic_amps == pytest.approx(7)


def test_third_harmonics_of_a_three_phase_row_meet_in_a_wye_neutral_only() -> None:
    rows = [row(0, kw=8.31384, pf=1.0, third_harmonic_share=0.5)]
    assert spread(rows, "480Y/277").third_harmonic_amps == pytest.approx(15, rel=1e-4)
    assert spread(rows, "240/120").third_harmonic_amps == 0


def test_pieces_between_lines_bring_no_third_harmonic_to_the_neutral() -> None:
    rows = [single(0, 10.0, "line_line", third_harmonic_share=0.7)]
    assert spread(rows, "208Y/120").third_harmonic_amps == 0


def test_of_rivals_each_line_keeps_the_larger_current() -> None:
    rows = [
        row(0, "Big", kw=20.0, pf=1.0, never_with="Odd"),
        row(
            1, "Odd", 3.6, 1.0, kind="other", is_motor=False, phases=1, volts=120.0,
            connection="line_neutral", amps=30.0, quantity=2,
        ),
        row(2, "Third", kw=5.0, pf=1.0, never_with="Big"),
    ]  # fmt: skip
    found = spread(rows, "480Y/277")
    alone = 20_000 / 480 / math.sqrt(3)
    assert min(found.phase_amps) == pytest.approx(alone)
    assert found.placement == ((1, "A"), (1, "B"))
    assert found.phase_amps[0] == pytest.approx(30 + 5000 / 480 / math.sqrt(3))
    assert not found.proved


def test_a_lighter_rival_is_put_where_its_rival_leaves_room() -> None:
    heavy, light, third = single(0, 30.0, quantity=2), single(1, 20.0), single(2, 25.0)
    rows = [replace(heavy, name="Heavy"), replace(light, never_with="Heavy"), third]
    found = spread(rows, "208Y/120")
    assert dict(found.placement)[1] != dict(found.placement)[2]
    assert sorted(found.phase_amps) == pytest.approx([25, 30, 30])
    idle = replace(light, never_with="Heavy", quantity=0)
    assert spread([rows[0], idle], "208Y/120").placement == ((0, "A"), (0, "B"))


def test_rows_of_thousands_of_pieces_are_spread_evenly_first() -> None:
    found = spread([single(0, 1.0, quantity=500), single(1, 2.0, quantity=500)], "208Y/120")
    assert len(found.placement) == 1000
    assert worst(found) <= found.lower_bound_amps * 1.01
    assert not found.proved


def test_more_pieces_than_the_search_takes_are_near_the_floor() -> None:
    rnd = random.Random(3)
    rows = [
        single(i, rnd.uniform(1, 40), rnd.choice(("line_line", "line_neutral"))) for i in range(40)
    ]
    found = spread(rows, "208Y/120")
    assert not found.proved
    assert worst(found) <= 1.02 * found.lower_bound_amps


def test_the_exact_search_stops_when_told_to(monkeypatch: pytest.MonkeyPatch) -> None:
    rnd = random.Random(5)
    rows = [single(i, rnd.uniform(1, 40)) for i in range(11)]
    assert spread(rows, "208Y/120").proved in (True, False)
    from sizing import phases
    from sizing.tables import table

    few = {"phase_search_nodes": 3.0, "phase_search_swaps": 2.0, "phase_search_pieces": 600.0}

    class Few:
        def at(self, _: str, key: str) -> float:
            return few[key]

    monkeypatch.setattr(
        phases, "table", lambda name: Few() if name == "step_rules" else table(name)
    )
    assert not spread(rows, "208Y/120").proved


def test_exchanges_and_search_mend_what_the_greedy_start_leaves() -> None:
    amps = [7.0, 7.0, 6.0, 6.0, 5.0, 5.0, 4.0, 4.0, 4.0]  # greedy 17, best 16
    found = spread([single(i, a) for i, a in enumerate(amps)], "208Y/120")
    assert worst(found) == pytest.approx(16)
    assert found.proved


@pytest.mark.parametrize("seed", range(80))
def test_no_placing_is_better(seed: int) -> None:
    rnd = random.Random(seed)
    name = rnd.choice(list(SYSTEMS))
    rows = []
    for i in range(rnd.randint(1, 4)):
        made = single(
            i, rnd.uniform(1, 40), rnd.choice(("line_line", "line_neutral")),
            quantity=rnd.randint(1, 2), pf=rnd.choice((0.1, 0.5, 0.8, 0.9, 1.0)),
        )  # fmt: skip
        three = name != "120/240" and rnd.random() < 0.25
        rows.append(row(i, kw=rnd.uniform(1, 20)) if three else made)
    found = spread(rows, name)
    best = by_brute_force(rows, name)
    assert found.proved
    assert worst(found) == pytest.approx(best)
    assert found.lower_bound_amps <= best * (1 + 1e-9)


PIECES = st.lists(
    st.tuples(
        st.floats(0.5, 60), st.sampled_from(["line_line", "line_neutral"]), st.integers(1, 3)
    ),
    min_size=1,
    max_size=6,
)


def build(specs: list[tuple[float, str, int]]) -> list[LoadDemand]:
    return [single(i, a, c, quantity=q) for i, (a, c, q) in enumerate(specs)]


@settings(max_examples=40)
@given(PIECES, st.sampled_from(list(SYSTEMS)))
def test_more_load_never_lowers_the_floor_and_the_floor_holds(
    specs: list[tuple[float, str, int]], name: str
) -> None:
    rows = build(specs)
    fewer, more = spread(rows[:-1], name), spread(rows, name)
    assert more.lower_bound_amps >= fewer.lower_bound_amps - 1e-9
    assert worst(more) >= more.lower_bound_amps - 1e-9
    assert len(more.placement) == sum(q for *_, q in specs)


@settings(max_examples=40)
@given(PIECES)
def test_the_order_of_equal_power_factor_rows_does_not_matter(
    specs: list[tuple[float, str, int]],
) -> None:
    rows = build(specs)
    one, other = spread(rows, "208Y/120"), spread(rows[::-1], "208Y/120")
    if one.proved and other.proved:
        assert worst(one) == pytest.approx(worst(other))
    assert one.lower_bound_amps == pytest.approx(other.lower_bound_amps)


@given(st.lists(st.floats(0.1, 500), min_size=2, max_size=3))
def test_unbalance_is_the_largest_deviation_over_the_mean(values: list[float]) -> None:
    mean = sum(values) / len(values)
    assert unbalance_percent(values) == pytest.approx(
        100 * max(max(values) - mean, mean - min(values)) / mean
    )


def test_a_voltage_cannot_be_negative() -> None:
    with pytest.raises(ValueError, match="negative"):
        high_leg_volts(-240.0)


def test_the_trace_places_the_pieces_and_sums_the_lines() -> None:
    trace = Trace()
    rows = [single(0, 8.0, quantity=4, third_harmonic_share=0.5), heater(1)]
    found = spread(rows, "208Y/120", trace)
    assert trace.lines[0].line == "A: 2 x Load 0, 8.00 A at 1.00 each"
    assert "proved" in trace.lines[0].source
    assert f"A {found.phase_amps[0]:.1f} A" in trace.lines[3].line
    assert "sqrt(8.0^2 + 16.0^2) = 17.9 A" in trace.lines[4].line


def test_the_trace_says_where_it_is_not_proved() -> None:
    trace = Trace()
    spread([single(0, 1.0, quantity=500), single(1, 2.0, quantity=500)], "208Y/120", trace)
    assert "heuristic" in trace.lines[0].source
