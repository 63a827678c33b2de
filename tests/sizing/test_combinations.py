"""One set, a spare, two in parallel, two by voltage: ranked by stated reasons."""

from __future__ import annotations

from dataclasses import replace

import pytest

from sizing.combinations import Option, composite, options
from sizing.limits import limit
from tests.sizing.composition_cast import HEATER, PUMP, a_demand, a_fleet, a_requirement, a_set

JOB = a_requirement()
DEMAND = a_demand(JOB)
BIG = a_requirement({**HEATER, "nameplate": "100 kW 480 V 3 ph"})
BIG_DEMAND = a_demand(BIG)


def kinds(found: tuple[Option, ...]) -> list[str]:
    return [option.kind for option in found]


def test_the_smallest_set_is_first_the_next_larger_beside_it() -> None:
    found = options(a_fleet(), [DEMAND], JOB)
    assert kinds(found)[0] == "one_set"
    larger = next(option for option in found if option.kind == "next_larger")
    assert larger.rated_kw > found[0].rated_kw
    assert "next larger" in larger.why


def test_a_set_of_the_same_power_is_not_the_next_larger() -> None:
    fleet = [a_set(60), a_set(60, code="S60Q", sound_dba_7m=58.0), a_set(80)]
    larger = [one for one in options(fleet, [DEMAND], JOB) if one.kind == "next_larger"]
    assert [one.parts[0].set_.code for one in larger] == ["S80"]


def test_nothing_larger_is_shown_where_there_is_none() -> None:
    assert "next_larger" not in kinds(options([a_set(60)], [DEMAND], JOB))


def test_two_equal_sets_carry_what_no_single_set_does() -> None:
    found = options(a_fleet(60, 80), [BIG_DEMAND], BIG)
    assert kinds(found) == ["parallel"]
    (part,) = found[0].parts
    assert (part.quantity, part.set_.code, found[0].rated_kw) == (2, "S80", 160)
    assert "No single set" in found[0].why
    assert found[0].machines == 2


@pytest.mark.parametrize("changes", [{"can_parallel": False}, {"quantity": 1}])
def test_a_pair_needs_two_machines_that_can_run_in_parallel(changes: dict[str, object]) -> None:
    fleet = [replace(one, **changes) for one in a_fleet(60, 80)]
    assert not options(fleet, [BIG_DEMAND], BIG)


def test_a_pair_far_larger_than_one_set_is_not_shown() -> None:
    assert "parallel" not in kinds(options(a_fleet(150, 200), [BIG_DEMAND], BIG))
    assert "parallel" in kinds(options(a_fleet(80, 150), [BIG_DEMAND], BIG))


def test_a_pair_says_whether_one_carries_the_mean_load() -> None:
    half = a_requirement({**HEATER, "nameplate": "100 kW 480 V 3 ph", "demand_factor": 1.0})
    found = options(a_fleet(80, 150), [a_demand(half)], half)
    pair = next(one for one in found if one.kind == "parallel")
    assert "part of the load goes on" in pair.why
    light = a_requirement({**HEATER, "nameplate": "40 kW 480 V 3 ph"})
    found = options([a_set(100), a_set(62)], [a_demand(light)], light)
    why = [one.why for one in found if one.kind == "parallel"]
    assert why == ["Two equal sets share the load; one S62 carries the mean load alone."] or not why


def test_a_composite_counts_less_than_the_sum_by_the_sharing_margin() -> None:
    two = composite(a_set(60, single_phase_kva=43.0), 2)
    margin = limit("sharing_margin").value
    assert margin == 5
    assert two.prime_kw == pytest.approx(120 * 0.95)
    assert two.single_phase_kva == pytest.approx(86 * 0.95)
    assert two.transient_reactance_pu == a_set(60).transient_reactance_pu
    assert two.fuel_l_h == tuple(2 * burn for burn in a_set(60).fuel_l_h)
    assert composite(a_set(60), 1) == a_set(60)
    assert composite(a_set(60), 2).single_phase_kva is None


def test_with_a_spare_the_rest_carries_the_whole_load() -> None:
    job = a_requirement(site={"redundancy": "n+1"})
    found = options(a_fleet(40, 60, 80), [a_demand(job)], job)
    assert set(kinds(found)) == {"spare_set"}
    (part,) = found[0].parts
    single = options(a_fleet(40, 60, 80), [DEMAND], JOB)[0].parts[0]
    assert part.quantity == 2
    assert part.set_ == single.set_
    assert "one set carries" in found[0].why


def test_two_with_a_spare_where_one_is_not_enough() -> None:
    job = a_requirement({**HEATER, "nameplate": "100 kW 480 V 3 ph"}, site={"redundancy": "n+1"})
    found = options(a_fleet(80), [a_demand(job)], job)
    assert found[0].parts[0].quantity == 3
    assert "2 sets carry" in found[0].why
    assert not options([a_set(80, quantity=2)], [a_demand(job)], job)


def test_two_supplies_take_a_set_each() -> None:
    other = a_requirement({**PUMP, "nameplate": "5 hp 200 V 3 ph 60 Hz"}, supply="208Y/120")
    found = options(a_fleet(), [DEMAND, a_demand(other)], JOB)
    assert kinds(found) == ["by_voltage"]
    assert [part.evaluation.supply for part in found[0].parts] == ["480Y/277", "208Y/120"]
    assert "480Y/277 and 208Y/120" in found[0].why


def test_two_supplies_find_nothing_where_one_of_them_finds_nothing() -> None:
    other = a_requirement({**PUMP, "nameplate": "5 hp 200 V 3 ph 60 Hz"}, supply="208Y/120")
    fleet = [replace(one, supplies=("480Y/277",)) for one in a_fleet()]
    assert options(fleet, [DEMAND, a_demand(other)], JOB) == ()


def test_a_light_load_is_shown_with_a_load_bank() -> None:
    found = options([a_set(200)], [DEMAND], JOB)
    bank = next(one for one in found if one.kind == "load_bank")
    assert "load_bank" in {one.code for one in bank.parts[0].accessories}
    assert "load_bank" not in {one.code for one in found[0].parts[0].accessories}


def test_checks_name_the_sound_once() -> None:
    job = a_requirement(site={"noise_limit": "70 dBA", "noise_distance": "20 m"})
    (part,) = options(a_fleet(), [a_demand(job)], job)[0].parts
    assert [check.name for check in part.checks].count("sound") == 1


def test_the_next_larger_set_is_a_real_step() -> None:
    fleet = [a_set(60), a_set(62), a_set(80)]
    larger = [one for one in options(fleet, [DEMAND], JOB) if one.kind == "next_larger"]
    assert [one.parts[0].set_.code for one in larger] == ["S80"]
