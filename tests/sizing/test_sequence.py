"""Chapter 4: what starts on top of what, what comes back together, and the peak."""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sizing.job import balanced_pieces, read_job, running_power, starting_power
from sizing.plate import LoadDemand
from sizing.sequence import Sequence, SequenceRefused, Step, sequence
from sizing.together import exclusions, followers, groups_apart, heaviest
from sizing.trace import Trace
from tests.sizing import electrical_cast as cast
from tests.sizing.electrical_cast import heater, lamp, row, start, starts


def of(*rows: LoadDemand, **options: object) -> Sequence:
    """The sequence of these rows with their usual starts."""
    return sequence(rows, starts(list(rows)), **options)  # type: ignore[arg-type]


def step(found: Sequence, name: str) -> Step:
    """The one step of this name."""
    (only,) = [one for one in found.steps if one.name == name]
    return only


def test_any_row_may_be_the_last_to_start_on_top_of_the_rest() -> None:
    found = of(row(0, "Pump"), heater(1, "Heater"), heater(2, "Fan"))
    pump = step(found, "Pump")
    assert pump.running == (1, 2)
    assert pump.before_kw == pump.before_kva == 20.0
    assert pump.start_kva == pytest.approx(6 * 12.5)
    assert pump.start_kw == pytest.approx(15.0)
    assert pump.settled_kw == 10.0
    assert found.worst is pump


def test_the_peak_is_the_vector_sum_with_demand_factors() -> None:
    found = of(row(0, kw=8.0, pf=0.8, demand_factor=0.5), heater(1, kw=3.0, quantity=2))
    assert found.peak_kw == pytest.approx(4 + 6)
    assert found.peak_kva == pytest.approx(math.hypot(10, 3))


def test_the_demand_factor_lessens_what_runs_not_what_starts() -> None:
    full, half = (of(row(0, demand_factor=f), heater(1)) for f in (1.0, 0.5))
    assert full.steps[0].start_kva == half.steps[0].start_kva
    assert half.steps[0].settled_kw == full.steps[0].settled_kw / 2


def test_a_kva_below_its_kw_does_not_break_the_sum() -> None:
    assert running_power(replace(row(0), running_kva=9.0)) == 10 + 0j
    assert starting_power(replace(start(row(0)), start_kw=99.0)).imag == 0.0


def test_a_row_without_a_start_starts_as_it_runs() -> None:
    found = sequence([heater(0)], [])
    assert found.steps[0].start_kva == 10.0


def test_nothing_on_the_supply_is_no_step() -> None:
    found = sequence([], [])
    assert found.peak_kw == found.peak_kva == found.worst.start_kva == 0.0
    assert found.worst.name == "Nothing starts"


def test_rows_that_draw_nothing_still_have_their_step() -> None:
    found = of(heater(0, kw=0.0))
    assert found.worst.start_power_factor == 1.0


def test_a_row_starts_before_its_followers_run() -> None:
    found = of(row(0, "A"), row(1, "B", starts_after="A"), row(2, "C", starts_after="B"))
    assert step(found, "A").running == ()
    assert step(found, "B").running == (0,)
    assert step(found, "C").running == (0, 1)


def test_a_float_switch_starts_with_its_followers_up() -> None:
    found = of(row(0, "A", float_switch=True), row(1, "B", starts_after="A"))
    assert step(found, "A").running == (1,)


def test_a_name_that_is_not_on_this_supply_ties_nobody() -> None:
    found = of(row(0, "A", starts_after="Elsewhere", never_with="Elsewhere"), row(1))
    assert step(found, "A").running == (1,)


def test_rows_that_wait_in_a_circle_are_refused_with_their_names() -> None:
    rows = [
        row(0, "A", starts_after="C"),
        row(1, "B", starts_after="A"),
        row(2, "C", starts_after="B"),
    ]
    with pytest.raises(SequenceRefused, match="a circle") as refused:
        sequence(rows, starts(rows))
    assert sorted(refused.value.names) == ["A", "B", "C"]
    for name, waits_for in itertools.pairwise([*refused.value.names, refused.value.names[0]]):
        assert next(r for r in rows if r.name == name).starts_after == waits_for


def test_a_row_that_waits_for_itself_is_a_circle_too() -> None:
    with pytest.raises(SequenceRefused, match="A waits for A"):
        of(row(0, "A", starts_after="A"))


def test_rows_of_one_name_are_all_waited_for() -> None:
    rows = [row(0, "A"), row(1, "A"), row(2, "B", starts_after="A"), row(3, "C", starts_after="B")]
    assert followers(rows) == {0: {2, 3}, 1: {2, 3}, 2: {3}}


def test_of_two_that_never_run_together_the_heavier_runs() -> None:
    found = of(row(0, "Big", kw=20.0, never_with="Small"), row(1, "Small"), heater(2, "Heater"))
    assert found.peak_kw == pytest.approx(30.0)
    assert step(found, "Heater").running == (0,)
    assert step(found, "Big").running == (2,)
    assert step(found, "Small").running == (2,)


def test_a_row_never_excludes_itself() -> None:
    assert exclusions([row(0, "A", never_with="A"), row(1, "A")]) == {0: {1}, 1: {0}}
    assert exclusions([row(0, "A", never_with="A")]) == {}


def test_the_peak_in_kva_may_be_another_choice_than_in_kw() -> None:
    lagging = row(0, "Motor", kw=9.0, pf=0.3, never_with="Heater")
    found = of(lagging, heater(1, "Heater"))
    assert found.peak_kw == 10.0
    assert found.peak_kva == pytest.approx(30.0, rel=1e-4)


def test_what_comes_back_by_itself_comes_back_together() -> None:
    found = of(
        row(0, "Pump", float_switch=True), row(1, "Fan", restarts_itself=True), heater(2, "Heater")
    )
    together = step(found, "Pump, Fan together")
    assert together.starting == (0, 1)
    assert together.running == ()
    assert together.start_kva == pytest.approx(2 * 75.0)
    assert found.worst is together


def test_the_starts_of_a_group_add_as_vectors() -> None:
    rows = [row(0, restarts_itself=True), heater(1, kw=60.0, restarts_itself=True)]
    together = of(*rows).steps[-1]
    assert together.start_kva == pytest.approx(math.hypot(15 + 60, 75 * math.sqrt(1 - 0.04)))
    assert together.start_power_factor == pytest.approx(75 / together.start_kva)


def test_a_group_comes_back_in_waves_where_one_waits_for_another() -> None:
    rows = [
        row(i, name, restarts_itself=True, starts_after=after)
        for i, (name, after) in enumerate(
            [("A", None), ("B", None), ("C", "A"), ("D", "A"), ("E", "D")]
        )
    ]
    found = of(*rows)
    assert step(found, "A, B together").running == ()
    assert step(found, "C, D together").running == (0, 1)
    assert len(found.steps) == 7


def test_rivals_do_not_come_back_together_and_long_groups_are_named_short() -> None:
    rows = [row(i, f"P{i}", restarts_itself=True) for i in range(5)]
    rows[4] = replace(rows[4], never_with="P0", running_kw=5.0, running_kva=6.25)
    found = of(*rows)
    assert step(found, "P0, P1, P2 and 1 more together").starting == (0, 1, 2, 3)


def test_the_hardest_step_for_the_engine_may_be_another_than_for_the_alternator() -> None:
    found = of(row(0, "Pump"), heater(1, "Heater", kw=40.0))
    assert found.worst.name == "Pump"
    assert found.worst_kw_step is not None
    assert found.worst_kw_step.name == "Heater"
    assert found.momentary_kw == pytest.approx(40 + 15)


def test_a_smaller_step_on_a_loaded_engine_is_shown_beside_the_largest() -> None:
    found = of(row(0, "Pump", kw=12.0), heater(1, "Heater", kw=25.0), heater(2, "Oven", kw=20.0))
    assert [one.name for one in found.engine_steps] == ["Heater", "Pump"]
    assert step(found, "Pump").momentary_kw > step(found, "Heater").momentary_kw
    assert len(of(row(0), heater(1, kw=2.0)).engine_steps) == 1


def test_an_inrush_dips_the_voltage_but_no_engine_feels_it() -> None:
    rows = [lamp(0, kw=4.0, lamp_type="led"), heater(1)]
    inrush = replace(start(rows[0], 2.0, 0.9), basis="inrush")
    found = sequence(rows, [inrush, start(rows[1], 1.0, 1.0)])
    assert found.steps[0].start_kva == pytest.approx(8.0)
    assert found.steps[0].start_kw == pytest.approx(7.2)
    assert found.steps[0].kick_kw == pytest.approx(4.0)
    assert found.momentary_kw == pytest.approx(14.0)
    behind = [replace(rows[0], kind="panel"), rows[1]]
    panel = sequence(behind, [inrush, start(rows[1], 1.0, 1.0)])
    assert panel.steps[0].kick_kw == pytest.approx(7.2)


def test_the_worst_step_is_the_deepest_dip_not_the_most_kva() -> None:
    found = of(row(0, "Pump", kw=4.0), heater(1, "Heater", kw=32.0))
    assert step(found, "Heater").start_kva > step(found, "Pump").start_kva
    assert found.worst.name == "Pump"


@pytest.mark.parametrize(
    ("connection", "system", "counted"),
    [
        ("line_line", "480Y/277", [2, 3, 3, 5]),
        ("line_neutral", "208Y/120", [3, 3, 3, 6]),
        ("line_line", "120/240", [1, 2, 3, 4]),
        ("line_neutral", "120/240", [2, 2, 4, 4]),
        ("line_line", "240/120", [2, 3, 3, 5]),
        ("line_neutral", "240/120", [4, 4, 8, 8]),
    ],
)
def test_single_phase_pieces_count_as_the_balanced_start_that_loads_a_phase_alike(
    connection: str, system: str, counted: list[int]
) -> None:
    assert [balanced_pieces(n, connection, system) for n in (1, 2, 3, 4)] == counted


def test_single_phase_starts_weigh_more_on_a_three_phase_set() -> None:
    found = of(lamp(0, kw=3.0), row(1))
    assert found.steps[0].balanced_start_kva == pytest.approx(6.0)
    assert found.steps[0].dip_kva == pytest.approx(6.0)
    assert found.steps[1].balanced_start_kva is None
    assert found.steps[1].dip_kva == found.steps[1].start_kva


def test_many_single_phase_rows_together_are_nearly_balanced() -> None:
    rows = [lamp(i, kw=1.0, restarts_itself=True) for i in range(30)]
    assert of(*rows).steps[-1].balanced_start_kva == pytest.approx(32.0)


def test_on_the_high_leg_the_pieces_of_one_coil_pair_get_no_such_credit() -> None:
    rows = [
        lamp(i, kw=1.0, restarts_itself=True, connection="line_neutral", supply="240/120")
        for i in range(30)
    ]
    assert of(*rows).steps[-1].balanced_start_kva == pytest.approx(120.0)


def test_a_mixed_group_counts_its_three_phase_part_once() -> None:
    rows = [heater(0, restarts_itself=True), lamp(1, kw=10.0, restarts_itself=True)]
    assert of(*rows).steps[-1].balanced_start_kva == pytest.approx(10 + 20)


def test_a_single_phase_row_that_draws_nothing_is_balanced() -> None:
    assert of(lamp(0, kw=0.0)).steps[0].balanced_start_kva is None


def test_what_the_running_loads_stand_is_kept_with_the_step() -> None:
    found = of(row(0, "Pump"), lamp(1, "Lamp", never_with="Heater"), heater(2, "Heater", kw=20.0))
    assert step(found, "Pump").stands == ("discharge_lamp",)
    assert step(found, "Heater").stands == ("contactor",)
    assert step(found, "Lamp").stands == ("contactor",)


def test_rows_by_hand_follow_a_given_order() -> None:
    rows = [heater(0, "Heater"), row(1, "Pump", quantity=2), row(2, "Float", float_switch=True)]
    found = of(*rows, order=(1, 1, 0))
    assert [one.name for one in found.steps] == [
        "Float",
        "Pump, piece 1",
        "Pump, piece 2",
        "Heater",
    ]
    assert found.steps[0].running == (0, 1)
    assert [one.running for one in found.steps[1:]] == [(2,), (1, 2), (1, 2)]
    assert found.steps[1].start_kva == pytest.approx(75.0)
    assert found.steps[2].before_kw == pytest.approx(20.0)
    assert found.order == (1, 1, 0)


def test_a_given_order_keeps_rivals_apart() -> None:
    rows = [
        row(0, "A", kw=20.0, never_with="B"),
        row(1, "B"),
        heater(2, "C"),
        row(3, "D", never_with="A"),
    ]
    found = of(*rows, order=(0, 1, 2, 3))
    assert [one.running for one in found.steps] == [(), (), (0,), (1, 2)]
    assert found.steps[1].stands == ()
    assert found.steps[2].stands == ("contactor",)


def test_the_trace_holds_peak_and_steps() -> None:
    trace = Trace()
    of(row(0, "Pump"), lamp(1, "Lamp", kw=2.0), trace=trace)
    assert "(10.00 + j7.50) + (2.00 + j0.00) = 12.00 kW, 14.15 kVA" in trace.lines[0].line
    assert "Pump starts with 75.00 kVA at 0.20 = 15.00 kW" in trace.lines[1].line
    assert "counts as 4.00 kVA balanced" in trace.lines[2].line


def test_a_long_trace_shows_what_decides() -> None:
    trace = Trace()
    of(*(row(i, f"M{i}", kw=1.0 + i) for i in range(20)), trace=trace)
    assert "over 20 rows" in trace.lines[0].line
    assert "M19 starts" in trace.lines[1].line
    assert len(trace.lines) <= 4


def test_the_trace_of_nothing_says_so() -> None:
    trace = Trace()
    sequence([], [], trace)
    assert "nothing = 0.00 kW" in trace.lines[0].line


def test_tangled_exclusions_fall_back_to_all_together(monkeypatch: pytest.MonkeyPatch) -> None:
    ring = {i: frozenset({(i - 1) % 9, (i + 1) % 9}) for i in range(9)}
    assert len(heaviest(range(9), ring, lambda _: 1.0)) == 4
    monkeypatch.setattr("sizing.together.MOST_BRANCHES", 3)
    assert len(heaviest(range(9), ring, lambda _: 1.0)) == 9


GRAPHS = st.integers(1, 8).flatmap(
    lambda n: st.tuples(
        st.lists(st.floats(0.1, 100), min_size=n, max_size=n),
        st.lists(st.tuples(st.integers(0, n - 1), st.integers(0, n - 1)), max_size=10),
    )
)


@given(GRAPHS)
def test_the_heaviest_choice_equals_brute_force(
    graph: tuple[list[float], list[tuple[int, int]]],
) -> None:
    weights, edges = graph
    apart: dict[int, frozenset[int]] = {}
    for a, b in edges:
        if a != b:
            apart[a] = apart.get(a, frozenset()) | {b}
            apart[b] = apart.get(b, frozenset()) | {a}
    best = max(
        sum(weights[i] for i in subset)
        for size in range(len(weights) + 1)
        for subset in itertools.combinations(range(len(weights)), size)
        if not any(apart.get(i, frozenset()) & set(subset) for i in subset)
    )
    chosen = heaviest(range(len(weights)), apart, lambda i: weights[i])
    assert sum(weights[i] for i in chosen) == pytest.approx(best)
    assert not any(apart.get(i, frozenset()) & chosen for i in chosen)
    assert sum(map(len, groups_apart(apart))) == len(apart)


ROWS = st.lists(
    st.tuples(st.floats(0.5, 40), st.sampled_from([0.7, 0.85, 1.0]), st.booleans(), st.booleans()),
    min_size=1, max_size=6,
)  # fmt: skip


def build(specs: list[tuple[float, float, bool, bool]]) -> list[LoadDemand]:
    """Rows from drawn figures."""
    return [
        row(
            i,
            kw=kw,
            pf=pf,
            is_motor=motor,
            kind="motor" if motor else "heater",
            restarts_itself=back,
        )
        for i, (kw, pf, motor, back) in enumerate(specs)
    ]


@settings(max_examples=60)
@given(ROWS, st.randoms())
def test_the_order_of_the_rows_does_not_matter(
    specs: list[tuple[float, float, bool, bool]], rnd: object
) -> None:
    rows = build(specs)
    shuffled = list(rows)
    rnd.shuffle(shuffled)  # type: ignore[attr-defined]
    one, other = sequence(rows, starts(rows)), sequence(shuffled, starts(shuffled))
    assert one.peak_kva == pytest.approx(other.peak_kva)
    assert one.worst.start_kva == pytest.approx(other.worst.start_kva)
    assert one.momentary_kw == pytest.approx(other.momentary_kw)


@settings(max_examples=60)
@given(ROWS)
def test_one_more_row_never_asks_less(specs: list[tuple[float, float, bool, bool]]) -> None:
    rows = build(specs)
    fewer, more = of(*rows[:-1]), of(*rows)
    assert more.peak_kw >= fewer.peak_kw - 1e-9
    assert more.peak_kva >= fewer.peak_kva - 1e-9
    assert max(s.start_kva for s in more.steps) >= max(s.start_kva for s in fewer.steps) - 1e-9
    assert more.momentary_kw >= fewer.momentary_kw - 1e-9


@settings(max_examples=60)
@given(ROWS)
def test_steps_add_up_to_the_peak(specs: list[tuple[float, float, bool, bool]]) -> None:
    found = of(*build(specs))
    for one in found.steps[: len(specs)]:
        assert one.before_kw + one.settled_kw == pytest.approx(found.peak_kw)


def test_a_job_of_rivals_only_has_each_alone() -> None:
    rows = [row(0, "A", never_with="B"), row(1, "B")]
    job = read_job(rows, cast.starts(rows))
    assert [job.beside(i).running for i in (0, 1)] == [(), ()]
