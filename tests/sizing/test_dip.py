"""Chapter 5: the dip by impedances, the simple form beside it, and the tightest limit."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sizing.dip import (
    base_kva,
    dip_limit,
    hardest_dip,
    largest_start_kva,
    simple_dip_percent,
    voltage_dip,
)
from sizing.errors import TableRefused
from sizing.ladder import Section, ladder_dip, ladder_voltages, parallel_rx, voltage_lost
from sizing.requirement import APPLICATIONS, LOAD_KINDS
from sizing.trace import Trace
from sizing.withstand import withstand_rule
from tests.sizing.electrical_cast import a_set, a_step, heater, lamp, row

SUPPLY = "480Y/277"


def percent(start_kva: float, pf: float = 0.2, before: complex = 0j, kw: float = 60.0) -> float:
    """Dip of a start on a set."""
    return voltage_dip(a_step(start_kva, pf, before), a_set(kw), SUPPLY, (), "other").percent


def test_at_power_factor_zero_the_vector_form_is_the_simple_one() -> None:
    found = voltage_dip(a_step(100.0, 0.0), a_set(), SUPPLY, (), "other")
    assert found.percent == pytest.approx(found.simple_percent) == pytest.approx(25.0)


def test_a_resistive_start_dips_far_less_than_the_simple_form() -> None:
    found = voltage_dip(a_step(100.0, 1.0), a_set(), SUPPLY, (), "other")
    assert found.percent == pytest.approx(100 * (1 - 1 / abs(1 + 0.25j * 100 / 75)))
    assert found.percent < found.simple_percent / 3


def test_a_running_load_lessens_the_dip_in_percent_of_what_was() -> None:
    assert percent(100.0, before=30 + 20j) < percent(100.0)


def test_nothing_starts_nothing_dips() -> None:
    assert percent(0.0, 1.0) == simple_dip_percent(0.0, 75.0, 0.25) == 0.0


def test_the_balanced_equivalent_of_single_phase_starts_counts() -> None:
    step = a_step(20.0, balanced_start_kva=60.0)
    found = voltage_dip(step, a_set(), SUPPLY, (), "other")
    assert found.percent == pytest.approx(percent(60.0))


def test_single_phase_sets_stand_on_their_single_phase_rating() -> None:
    assert base_kva(a_set(), "120/240") == pytest.approx(75 / 3**0.5)
    assert base_kva(a_set(single_phase_kva=50.0), "120/240") == 50.0
    assert base_kva(a_set(), "208Y/120") == 75.0


@pytest.mark.parametrize(
    ("kind", "changes", "rule"),
    [
        ("pump", {}, "contactor"),
        ("hvac", {}, "contactor"),
        ("other", {"is_motor": True}, "contactor"),
        ("other", {"is_motor": False}, None),
        ("lamp", {}, "discharge_lamp"),
        ("lamp", {"lamp_type": "metal halide"}, "discharge_lamp"),
        ("lamp", {"lamp_type": "led"}, None),
        ("lamp", {"lamp_type": "incandescent"}, None),
        ("lamp", {"lamp_type": "halogen"}, None),
        ("lamp", {"lamp_type": "quartz"}, None),
        ("lamp", {"lamp_type": "fluorescent"}, "discharge_lamp"),
        ("motor", {"is_motor": False}, "contactor"),
        ("pump", {"is_motor": False}, "contactor"),
        ("compressor", {"is_motor": False}, "contactor"),
        ("hvac", {"is_motor": False}, "contactor"),
        ("electronics", {"is_motor": False}, "electronics"),
        ("panel", {"is_motor": False}, "electronics"),
        ("ups", {"is_motor": False}, None),
        ("heater", {"is_motor": False}, None),
    ],
)
def test_what_a_running_load_stands(
    kind: str, changes: dict[str, object], rule: str | None
) -> None:
    assert withstand_rule(row(0, kind=kind, **changes)) == rule


@pytest.mark.parametrize("application", APPLICATIONS)
@pytest.mark.parametrize("kind", LOAD_KINDS)
def test_every_kind_under_every_application_has_a_limit_with_reason_and_source(
    application: str, kind: str
) -> None:
    limit = dip_limit([row(0, kind=kind)], application)
    assert 5 <= limit.percent <= 30
    assert limit.reason
    assert limit.source


@pytest.mark.parametrize(
    ("running", "application", "limit"),
    [
        ([], "dewatering", 30),
        ([row(0)], "dewatering", 30),
        ([row(0), lamp(1)], "dewatering", 10),
        ([row(0), lamp(1, lamp_type="led")], "dewatering", 30),
        ([row(0, kind="electronics")], "dewatering", 15),
        ([heater(0)], "event_lighting", 15),
        ([lamp(0)], "event_lighting", 10),
        ([], "emergency", 20),
        ([], "other", 25),
    ],
)
def test_the_tightest_limit_counts(running: list[object], application: str, limit: float) -> None:
    assert dip_limit(running, application).percent == limit  # type: ignore[arg-type]


def test_an_unknown_application_has_no_limit() -> None:
    with pytest.raises(TableRefused):
        dip_limit([], "circus")


def test_a_step_that_does_not_say_what_it_stands_asks_its_running_loads() -> None:
    step = a_step(50.0, running=(1,), stands=None)
    found = voltage_dip(step, a_set(), SUPPLY, [row(0), lamp(1)], "dewatering")
    assert found.limit_percent == 10
    assert voltage_dip(step, a_set(), SUPPLY, [row(0), row(1)], "dewatering").limit_percent == 30


@pytest.mark.parametrize(
    ("start_kva", "name"), [(10.0, "G3"), (65.0, "G2"), (90.0, "G1"), (400.0, "")]
)
def test_the_recovery_class_is_the_tightest_that_the_dip_keeps(start_kva: float, name: str) -> None:
    found = voltage_dip(a_step(start_kva), a_set(), SUPPLY, (), "other")
    assert found.recovery_class == name
    assert found.recovery_s == 6.0


def test_the_trace_can_be_redone_by_hand() -> None:
    trace = Trace()
    voltage_dip(a_step(125.8), a_set(), SUPPLY, (), "other", trace)
    simple, vector, verdict = trace.lines
    assert simple.line == "simple form: 0.250 / (0.250 + 75.0 kVA / 125.8 kVA) = 29.5 %"
    assert vector.line == (
        "Start: Yr = 0.0000-0.0000j, Ys = 0.3355-1.6434j pu on 75.0 kVA; "
        "1 - |(1 + j0.250 Yr) / (1 + j0.250 (Yr + Ys))| = 29.2 %"
    )
    assert verdict.line == (
        "29.2 % against 25.0 %: default for a motor start on a set; back within 6 s by class G2"
    )
    assert {line.chapter for line in trace.lines} == {"dip"}
    book = "Sheldrake, Handbook of Electrical Engineering, App. G"
    assert [line.source for line in trace.lines] == [
        f"{book}, no other load", book, "UFGS-16237N p.19",
    ]  # fmt: skip


def test_the_trace_shows_both_admittances() -> None:
    """Y = (P - jQ) / S_set: 100 kVA at 0.6 beside 30 kW and 40 kvar, on 75 kVA."""
    trace = Trace()
    voltage_dip(a_step(100.0, 0.6, 30 + 40j), a_set(), SUPPLY, (), "other", trace)
    assert "Yr = 0.4000-0.5333j, Ys = 0.8000-1.0667j pu on 75.0 kVA" in trace.lines[1].line
    assert trace.lines[0].source.startswith("Sheldrake, Handbook of Electrical Engineering")


def test_the_hardest_dip_is_that_of_a_start_with_nothing_beside_it() -> None:
    beside, small = a_step(100.0, 0.2, 30 + 20j), a_step(60.0, 0.2)
    less = a_step(80.0, 0.2, 30 + 20j)
    worst, share = hardest_dip((less, small, beside), a_set(), SUPPLY, (), "other")
    found = voltage_dip(worst, a_set(), SUPPLY, (), "other")
    assert (worst.before_kw, worst.before_kva, worst.before_kvar) == (0.0, 0.0, 0.0)
    assert found.percent == pytest.approx(percent(100.0))
    assert found.percent > percent(100.0, before=30 + 20j)
    assert share == pytest.approx(found.percent / found.limit_percent)


def test_the_trace_says_nothing_of_a_step_that_starts_nothing() -> None:
    trace = Trace()
    voltage_dip(a_step(0.0, 1.0), a_set(), SUPPLY, (), "other", trace)
    assert "0.0 %" in trace.lines[0].line


def test_the_largest_start_turns_the_simple_form_round() -> None:
    kva = largest_start_kva(20.0, 75.0, 0.25)
    assert simple_dip_percent(kva, 75.0, 0.25) == pytest.approx(20.0)


def test_a_ladder_without_a_change_stays_where_it_was() -> None:
    sections = [Section(0.25j, parallel_rx(2.0, 3.0)), Section(0.1j), Section(0.01 + 0j, 0.5 + 0j)]
    for one, other in zip(ladder_voltages(sections), ladder_dip(sections, sections), strict=True):
        assert one == pytest.approx(other)


KVA = st.floats(0.1, 500)
PF = st.floats(0.0, 1.0)
POWER = st.builds(complex, st.floats(0, 60), st.floats(0, 60))


@given(KVA, KVA, PF, POWER)
def test_more_start_is_never_a_smaller_dip(
    one: float, other: float, pf: float, before: complex
) -> None:
    low, high = sorted((one, other))
    assert percent(low, pf, before) <= percent(high, pf, before) + 1e-9


@given(KVA, PF, POWER, st.floats(10, 500), st.floats(10, 500))
def test_a_larger_set_never_dips_more(
    start: float, pf: float, before: complex, one: float, other: float
) -> None:
    low, high = sorted((one, other))
    assert percent(start, pf, 0j, high) <= percent(start, pf, 0j, low) + 1e-9


@given(KVA, PF)
def test_the_simple_form_is_never_below_the_vector_form(start: float, pf: float) -> None:
    found = voltage_dip(a_step(start, pf), a_set(), SUPPLY, (), "other")
    assert 0 <= found.percent <= found.simple_percent + 1e-9 <= 100


@given(KVA, PF, POWER, st.floats(0.05, 0.4))
def test_the_ladder_of_one_load_is_the_dip(
    start: float, pf: float, before: complex, x: float
) -> None:
    step = a_step(start, pf, before)
    running = before.conjugate() / 75
    starting = start / 75 * complex(pf, -((1 - pf * pf) ** 0.5))
    seen = ladder_dip([Section(1j * x, running)], [Section(1j * x, running + starting)])[0]
    assert voltage_lost(step, 1j * x, 75.0) == pytest.approx(max(0.0, 1 - abs(seen)), abs=1e-9)
