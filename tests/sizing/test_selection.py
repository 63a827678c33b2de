"""Chapter 7: every check of a set, and the smallest set that passes them all."""

from __future__ import annotations

from dataclasses import replace
from itertools import islice
from typing import Any

import pytest

from sizing import selection
from sizing.check import Check
from sizing.demand import Demand, deciding_steps, demand_of
from sizing.dip import largest_start_kva, voltage_dip
from sizing.errors import TableRefused
from sizing.evaluation import Evaluation, evaluate, loaded, rated, simulated
from sizing.fleet import GeneratorSet
from sizing.limits import at_least, at_most, limit
from sizing.position import rated_amps, single_phase_kva
from sizing.requirement import Requirement
from sizing.selection import (
    FrequencyGate,
    by_size,
    could_carry,
    family,
    is_hopeful,
    passing,
)
from sizing.step import Step
from sizing.trace import Trace
from tests.sizing.composition_cast import (
    HEATER,
    PUMP,
    a_demand,
    a_document,
    a_fleet,
    a_requirement,
    a_set,
)  # fmt: skip

JOB = a_requirement()
DEMAND = a_demand(JOB)


def check(name: str, set_: GeneratorSet, job: Requirement = JOB) -> Check:
    """One check of a set on a job."""
    found = evaluate(set_, a_demand(job), job)
    return next(one for one in found.checks if one.name == name)


def test_a_set_that_is_large_enough_passes_every_check() -> None:
    found = evaluate(a_set(60), DEMAND, JOB)
    assert found.passed
    assert not found.refusals
    assert all(one.source for one in found.checks)


@pytest.mark.parametrize(
    ("name", "changes"),
    [
        ("supply_position", {"supplies": ("208Y/120",)}),
        ("running_kw", {"prime_kw": 15.0}),
        ("line_current", {"prime_kva": 15.0}),
        ("mean_load", {"prime_kw": 24.0}),
        ("voltage_dip", {"transient_reactance_pu": 0.6}),
        ("load_step", {"max_step_percent": 10.0}),
        ("frequency_dip", {"governor_lag_s": 1.0}),
        ("frequency_recovery", {"turbo_lag_s": 9.0, "naturally_aspirated_share": 0.1}),
    ],
)
def test_each_check_refuses_the_set_that_fails_it(name: str, changes: dict[str, object]) -> None:
    weak = replace(a_set(60), **changes)
    assert not check(name, weak).passed
    assert not evaluate(weak, DEMAND, JOB).passed
    assert check(name, a_set(200)).passed


def test_light_load_and_autonomy_warn_but_do_not_refuse() -> None:
    found = evaluate(a_set(200, tank_l=20.0), DEMAND, JOB)
    failed = {one.name for one in found.checks if not one.passed}
    assert failed == {"light_load", "autonomy", "lead_protection"}
    assert found.passed


def test_a_limit_met_exactly_passes() -> None:
    assert at_most("x", 70.0, 70.0, "%", "s").passed
    assert at_least("x", 0.1 + 0.2, 0.3, "kW", "s").passed
    assert not at_most("x", 70.001, 70.0, "%", "s").passed
    assert not at_least("x", 30.0, 29.999, "%", "s").passed


def test_a_limit_that_is_not_in_the_table_is_an_error() -> None:
    with pytest.raises(TableRefused):
        limit("patience")


def test_neutral_current_must_fit_the_rating() -> None:
    lamp = {"name": "Rack", "kind": "electronics", "nameplate": "6 kVA 277 V 1 ph"}
    job = a_requirement(lamp)
    found = check("neutral_current", a_set(60), job)
    assert found.required == pytest.approx(a_demand(job).neutral_amps)
    assert found.required > 0


def test_non_linear_load_takes_twice_its_kva() -> None:
    """A UPS without its maker's word: generator kVA = 2 x UPS kVA (vendor page, 100 -> 200)."""
    ups = {"name": "UPS", "kind": "ups", "nameplate": "20 kVA 480 V 3 ph"}
    job = a_requirement(ups)
    nonlinear_kva = a_demand(job).nonlinear_kva
    assert nonlinear_kva > 0
    enough = a_set(60, prime_kva=2 * nonlinear_kva)
    assert check("nonlinear_share", enough, job).passed
    assert not check("nonlinear_share", replace(enough, prime_kva=1.99 * nonlinear_kva), job).passed


@pytest.mark.parametrize(
    ("lugs", "cams", "passed"), [(True, 0, True), (False, 1, True), (False, 0, False)]
)
def test_leads_need_lugs_or_cam_connectors(lugs: bool, cams: int, passed: bool) -> None:
    job = a_requirement({**HEATER, "quantity": 5})
    assert check("connection", a_set(100, lugs=lugs, cam_sets=cams), job).passed is passed


def test_a_float_switch_needs_automatic_start() -> None:
    job = a_requirement({**PUMP, "float_switch": True})
    assert not check("automatic_start", a_set(auto_start=False), job).passed
    assert check("automatic_start", a_set(), job).passed
    assert "automatic_start" not in {c.name for c in evaluate(a_set(), DEMAND, JOB).checks}


@pytest.mark.parametrize("live", [True, False])
def test_120_v_receptacles_are_not_counted_on_at_480(live: bool) -> None:
    loads = tuple(replace(load, via="receptacles") for load in DEMAND.loads)
    demand = replace(DEMAND, loads=loads)
    found = evaluate(a_set(live_120v_at_480=live), demand, JOB)
    assert found.passed is live
    assert ("receptacles_120v" in {one.name for one in found.refusals}) is not live


def test_sound_is_checked_where_a_limit_and_a_distance_are_known() -> None:
    near = {"noise_limit": "55 dBA", "noise_distance": "7 m"}
    assert not check("sound", a_set(sound_dba_7m=65.0), a_requirement(site=near)).passed
    assert check("sound", a_set(sound_dba_7m=54.0), a_requirement(site=near)).passed
    no_limit = a_requirement(site={"noise_distance": "7 m"})
    found = evaluate(a_set(), a_demand(no_limit), no_limit)
    assert found.sound_dba == pytest.approx(65.0)
    assert "sound" not in {one.name for one in found.checks}


def test_the_smallest_set_comes_first_and_sizes_rise() -> None:
    found = list(passing(a_fleet(), DEMAND, JOB))
    assert [one.set_.prime_kw for one in found] == sorted(one.set_.prime_kw for one in found)
    smaller = [s for s in a_fleet() if s.prime_kw < found[0].set_.prime_kw]
    assert smaller
    assert not any(evaluate(one, DEMAND, JOB).passed for one in smaller)


def test_like_sets_are_taken_by_code_whatever_the_order_of_the_fleet() -> None:
    fleet = [a_set(60, code="B"), a_set(60, code="A"), a_set(80)]
    codes = [one.set_.code for one in passing(fleet, DEMAND, JOB)]
    assert codes == [one.set_.code for one in passing(fleet[::-1], DEMAND, JOB)]
    assert codes[:2] == ["A", "B"]


def test_a_set_that_is_not_there_is_not_taken() -> None:
    assert not list(passing([a_set(60, quantity=0)], DEMAND, JOB))


def test_no_set_passes_an_empty_fleet() -> None:
    assert not list(passing([], DEMAND, JOB))


def test_the_cheap_filter_never_refuses_what_would_pass() -> None:
    for one in a_fleet():
        assert could_carry(one, DEMAND) or not evaluate(one, DEMAND, JOB).passed


def test_an_evaluation_is_passed_only_when_it_is_whole() -> None:
    first = rated(a_set(60), DEMAND, JOB)
    second = loaded(first, JOB)
    assert not first.passed
    assert not second.passed
    assert simulated(second, JOB).passed
    assert simulated(second, JOB) == evaluate(a_set(60), DEMAND, JOB)


def test_every_step_is_held_against_its_limit_not_only_the_deciding_ones() -> None:
    """A filter may miss a step; the winner is measured against all of them."""
    hard = max(DEMAND.sequence.steps, key=lambda step: step.dip_kva)
    mild = replace(hard, start_kva=0.01, start_kw=0.01, balanced_start_kva=None)
    blind = replace(DEMAND, steps=(mild,))
    weak = a_set(60, transient_reactance_pu=0.6)
    assert not loaded(rated(weak, blind, JOB), JOB).refusals
    assert not evaluate(weak, blind, JOB).passed
    assert not list(passing([weak], blind, JOB))


def step(name: str, start_kva: float, stands: tuple[str, ...] | None) -> Step:
    return Step(name, (0,), (), start_kva, start_kva, 1.0, 0.0, 0.0, 0.0, None, stands)


def test_a_smaller_start_under_a_looser_limit_does_not_decide() -> None:
    lamp, motor = ("discharge_lamp",), ("contactor",)
    steps = [
        step("a", 10, lamp), step("b", 9, motor), step("c", 12, motor), step("d", 5, lamp),
        step("e", 11, None),
    ]  # fmt: skip
    assert {one.name for one in deciding_steps(steps, "other")} == {"a", "c"} | {
        one.name for one in deciding_steps([steps[4], steps[2]], "other") if one.name == "e"
    }


@pytest.mark.parametrize(
    ("name", "changes"),
    [
        ("mean_load", {}),
        ("voltage_dip", {"transient_reactance_pu": 0.6}),
        ("load_step", {"max_step_percent": 10.0}),
    ],
)
def test_the_filter_refuses_only_what_a_check_refuses(name: str, changes: dict[str, Any]) -> None:
    poor = a_set(60 if changes else 24, **changes)
    assert not is_hopeful(poor, DEMAND, JOB)
    assert name in {one.name for one in evaluate(poor, DEMAND, JOB).refusals}
    for set_ in (a_set(kw / 4, **changes) for kw in range(60, 600)):
        assert is_hopeful(set_, DEMAND, JOB) or not evaluate(set_, DEMAND, JOB).passed


def test_a_set_at_the_very_limit_of_its_dip_is_not_filtered_out() -> None:
    blind = replace(DEMAND, loads=())
    step = replace(DEMAND.steps[0], stands=(), before_kw=0.0, before_kva=0.0)
    limit_percent = voltage_dip(step, a_set(60), "480Y/277", (), "other").limit_percent
    just = largest_start_kva(limit_percent, a_set(60).prime_kva, 0.25)
    held = replace(step, start_kva=just, start_power_factor=0.0)
    for kva, hopeful in ((just, True), (just * 1.0001, False)):
        edge = replace(blind, steps=(replace(held, start_kva=kva, balanced_start_kva=None),))
        assert is_hopeful(a_set(60, transient_reactance_pu=0.25), edge, JOB) is hopeful


def test_the_gate_opens_where_a_simulation_would_pass() -> None:
    able = sorted((s for s in a_fleet(*range(20, 100, 2)) if could_carry(s, DEMAND)), key=by_size)
    slow = [replace(one, governor_lag_s=0.25, naturally_aspirated_share=0.6) for one in able]
    gate = FrequencyGate(slow, DEMAND, JOB)
    opened = [gate.is_open(one) for one in slow]
    held = [
        all(c.passed for c in evaluate(one, DEMAND, JOB).checks if c.name.startswith("frequency"))
        for one in slow
    ]
    assert opened == held
    assert True in held
    assert False in held


def test_the_gate_asks_for_few_simulations(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = []
    real = selection.worst_frequency_dip
    monkeypatch.setattr(
        selection, "worst_frequency_dip", lambda *args: asked.append(args) or real(*args)
    )
    able = [a_set(60 + n / 100, code=f"S{n}") for n in range(256)]
    gate = FrequencyGate(able, DEMAND, JOB)
    assert all(gate.is_open(one) for one in able)
    assert len(asked) <= 1 + 8


def test_a_family_that_fails_at_its_largest_is_refused_at_one_look() -> None:
    lame = [replace(one, governor_lag_s=2.0) for one in a_fleet(40, 60, 80)]
    gate = FrequencyGate(lame, DEMAND, JOB)
    assert not any(gate.is_open(one) for one in lame)
    assert not list(passing(lame, DEMAND, JOB))


def test_sets_of_other_dynamics_are_of_another_family() -> None:
    assert family(a_set(60)) == family(a_set(80))
    assert family(a_set(60)) != family(a_set(60, turbo_lag_s=2.0))


def test_percentages_are_of_the_site_rating() -> None:
    found = evaluate(a_set(100), DEMAND, JOB)
    assert found.load_percent == pytest.approx(DEMAND.sequence.peak_kw)
    assert found.mean_running_percent == pytest.approx(DEMAND.profile.mean_kw)


def test_a_trace_takes_rating_fuel_and_dips() -> None:
    trace = Trace()
    found = evaluate(a_set(60), DEMAND, JOB, trace)
    assert {"site_rating", "fuel", "dip", "frequency"} <= {line.chapter for line in trace.lines}
    assert found.frequency is not None
    assert found.frequency.points


def test_a_single_phase_position_takes_the_reduced_rating() -> None:
    panel = {"name": "Panel", "kind": "panel", "nameplate": "100 A 120/240 V 1 ph panel"}
    job = a_requirement(panel, supply="120/240")
    assert not check("line_current", a_set(30), job).passed  # 37.5 kVA / sqrt(3) at 240 V = 90.2 A
    assert check("line_current", a_set(30, single_phase_kva=25.0), job).passed


def test_single_phase_kva_is_the_record_s_where_it_has_one() -> None:
    assert single_phase_kva(a_set(60)) == pytest.approx(43.3, abs=0.01)
    assert single_phase_kva(a_set(60, single_phase_kva=50.0)) == 50.0
    assert rated_amps(a_set(60, single_phase_kva=50.0), "120/240") == pytest.approx(208.3, abs=0.05)


def test_a_lone_neutral_sum_is_taken_as_root_of_squares() -> None:
    spread = replace(DEMAND.spread, neutral_amps=3.0, third_harmonic_amps=4.0)
    demand: Demand = replace(DEMAND, spread=spread)
    assert demand.neutral_amps == pytest.approx(5.0)


def test_nothing_running_has_a_power_factor_of_one() -> None:
    idle = replace(DEMAND.sequence, peak_kw=0.0, peak_kva=0.0)
    assert replace(DEMAND, sequence=idle).power_factor == 1.0


def test_the_document_of_the_cast_is_settled() -> None:
    assert a_document()["site"]["altitude"] == "100 m"
    first: list[Evaluation] = list(islice(passing(a_fleet(), DEMAND, JOB), 1))
    assert first[0].count == 1


def test_loads_without_current_take_no_leads() -> None:
    idle = replace(DEMAND.loads[1], amps=0.0, running_kw=0.0, running_kva=0.0)
    demand, _ = demand_of(JOB, "480Y/277", [idle])
    assert demand.leads is None
