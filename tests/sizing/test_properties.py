"""Properties of the whole method, on generated jobs: what must hold whatever is asked."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from demo_fixtures import fleet_path
from sizing import Result, read_fleet, read_requirement, recommend
from sizing.evaluation import evaluate
from sizing.recommend import sized
from sizing.requirement import Band, Requirement
from sizing.supply import settle_supply
from sizing.unknowns import corner, settled, unknowns
from tests.sizing.composition_cast import a_document

FLEET = read_fleet(fleet_path())
NONE_FITS_KW = 1e6
FEW = settings(max_examples=25)

motors = st.builds(
    lambda hp, kind, method, switch: {
        "kind": kind, "nameplate": f"{hp:g} hp 460 V 3 ph 60 Hz code G", "starting": method,
        "float_switch": switch and kind == "pump", "restarts_itself": switch,
    },
    st.sampled_from([1, 2, 3, 5, 7.5, 10, 15, 20]),
    st.sampled_from(["pump", "motor", "compressor"]),
    st.sampled_from(["across_the_line", "wye_delta", "soft_starter", "autotransformer_65"]),
    st.booleans(),
)  # fmt: skip
others = st.sampled_from([
    {"kind": "heater", "nameplate": "5 kW 480 V 3 ph"},
    {"kind": "heater", "nameplate": "3 kW 277 V 1 ph"},
    {"kind": "lamp", "nameplate": "400 W LED 277 V 1 ph"},
    {"kind": "lamp", "nameplate": "1000 W metal halide 480 V 1 ph"},
    {"kind": "electronics", "nameplate": "2 kVA 277 V 1 ph"},
    {"kind": "panel", "nameplate": "30 A 480Y/277 V 3 ph panel"},
])  # fmt: skip


@st.composite
def load_lists(draw: st.DrawFn, least: int = 1, most: int = 5) -> list[dict[str, Any]]:
    """Rows of loads, each with a name and a quantity."""
    rows = draw(st.lists(st.one_of(motors, others), min_size=least, max_size=most))
    return [
        {**row, "name": f"L{n}", "quantity": draw(st.integers(1, 3))} for n, row in enumerate(rows)
    ]


def answered(loads: list[dict[str, Any]], **changes: Any) -> Result:
    return recommend(read_requirement(a_document(*loads, **changes)), FLEET)


def single_kw(loads: list[dict[str, Any]], **changes: Any) -> float:
    """Prime power of the smallest single set [kW]; without one, more than any."""
    job = read_requirement(a_document(*loads, **changes))
    return smallest_kw(job)


def smallest_kw(job: Requirement) -> float:
    found = sized(job, FLEET, settle_supply(job))
    singles = [one.rated_kw for one in found.options if one.kind == "one_set"]
    return singles[0] if singles else NONE_FITS_KW


@FEW
@given(load_lists(), st.one_of(motors, others))
def test_more_load_never_takes_a_smaller_set(
    loads: list[dict[str, Any]], more: dict[str, Any]
) -> None:
    assert single_kw([*loads, {**more, "name": "More"}]) >= single_kw(loads)


@FEW
@given(load_lists(), st.integers(0, 4))
def test_a_larger_quantity_never_takes_a_smaller_set(
    loads: list[dict[str, Any]], place: int
) -> None:
    row = loads[place % len(loads)]
    doubled = [{**one, "quantity": 2 * one["quantity"]} if one is row else one for one in loads]
    assert single_kw(doubled) >= single_kw(loads)


@FEW
@given(load_lists(most=3), st.integers(0, 3500), st.integers(0, 1000))
def test_a_higher_site_never_takes_a_smaller_set(
    loads: list[dict[str, Any]], altitude_m: int, more_m: int
) -> None:
    assume(altitude_m + more_m <= 3900)
    low = single_kw(loads, site={"altitude": f"{altitude_m} m"})
    assert single_kw(loads, site={"altitude": f"{altitude_m + more_m} m"}) >= low


@FEW
@given(load_lists(most=3), st.integers(-20, 48), st.integers(0, 20))
def test_a_hotter_site_never_takes_a_smaller_set(
    loads: list[dict[str, Any]], ambient_c: int, more_c: int
) -> None:
    assume(ambient_c + more_c <= 48)
    cool = single_kw(loads, site={"ambient": f"{ambient_c} degC"})
    assert single_kw(loads, site={"ambient": f"{ambient_c + more_c} degC"}) >= cool


@FEW
@given(load_lists(most=3), st.integers(45, 80), st.integers(0, 20))
def test_a_tighter_sound_limit_never_takes_a_smaller_set(
    loads: list[dict[str, Any]], limit_dba: int, tighter_db: int
) -> None:
    def at(level: int) -> float:
        site = {"noise_limit": f"{level} dBA", "noise_distance": "15 m"}
        return single_kw(loads, site=site)

    assert at(limit_dba - tighter_db) >= at(limit_dba)


@FEW
@given(load_lists(most=4))
def test_an_application_with_a_tighter_dip_never_takes_a_smaller_set(
    loads: list[dict[str, Any]],
) -> None:
    tight = single_kw(loads, application="jobsite_trailer")
    assert tight >= single_kw(loads, application="other")


@FEW
@given(load_lists(least=2), st.randoms(use_true_random=False))
def test_the_order_of_loads_does_not_matter(loads: list[dict[str, Any]], random: Any) -> None:
    mixed = list(loads)
    random.shuffle(mixed)
    one, other = answered(loads).document(), answered(mixed).document()
    assert other["outcome"] == one["outcome"]
    assert other["demand"]["running_kw"] == pytest.approx(one["demand"]["running_kw"])
    if one["recommendation"]:
        assert other["recommendation"]["sets"] == one["recommendation"]["sets"]


@FEW
@given(load_lists(), st.randoms(use_true_random=False))
def test_the_order_of_the_fleet_does_not_matter(loads: list[dict[str, Any]], random: Any) -> None:
    job = read_requirement(a_document(*loads))
    mixed = list(FLEET)
    random.shuffle(mixed)
    assert recommend(job, mixed).options == recommend(job, FLEET).options


@FEW
@given(load_lists())
def test_a_larger_fleet_never_gives_a_larger_set(loads: list[dict[str, Any]]) -> None:
    job = read_requirement(a_document(*loads))
    plan = settle_supply(job)
    half = sized(job, FLEET[::2], plan).options
    whole = sized(job, FLEET, plan).options
    if half and half[0].kind == "one_set":
        assert whole[0].rated_kw <= half[0].rated_kw


@FEW
@given(load_lists())
def test_what_is_recommended_passes_every_binding_check(loads: list[dict[str, Any]]) -> None:
    found = answered(loads).document()
    for option in [found["recommendation"], *found["alternatives"]]:
        for check in option["checks"] if option else ():
            assert check["passed"] or not check["binding"]


@FEW
@given(load_lists())
def test_every_smaller_set_fails_some_binding_check(loads: list[dict[str, Any]]) -> None:
    """The bisection and the cheap filters never step over a set that would pass."""
    found = answered(loads)
    assume(found.options and found.options[0].kind == "one_set")
    job = read_requirement(a_document(*loads))
    for set_ in FLEET:
        if set_.prime_kw < found.options[0].rated_kw:
            assert not evaluate(set_, found.demands[0], job).passed


@FEW
@given(load_lists())
def test_the_sums_of_the_trace_equal_the_totals(loads: list[dict[str, Any]]) -> None:
    found = answered(loads)
    line = next(one.line for one in found.trace if "running together" in one.line)
    terms = [complex(float(p), float(q)) for p, q in re.findall(r"\(([\d.]+) \+ j([\d.]+)\)", line)]
    total = sum(terms)
    demand = found.demands[0]
    assert total.real == pytest.approx(demand.sequence.peak_kw, abs=0.006 * len(terms))
    assert abs(total) == pytest.approx(demand.sequence.peak_kva, abs=0.01 * len(terms))
    stated = re.search(r"= ([\d.]+) kW, ([\d.]+) kVA", line)
    assert stated is not None
    assert float(stated[1]) == pytest.approx(demand.sequence.peak_kw, abs=0.0051)


@FEW
@given(load_lists())
def test_the_sum_of_the_loads_is_the_running_power_where_all_run_together(
    loads: list[dict[str, Any]],
) -> None:
    found = answered(loads).document()["demand"]
    total = sum(load["quantity"] * load["running_kw"] for load in found["loads"])
    assert found["running_kw"] == pytest.approx(total, rel=1e-3, abs=1e-3)


bands = st.tuples(st.floats(0, 1), st.floats(0, 1), st.floats(0, 1)).map(sorted)


@settings(max_examples=40)
@given(load_lists(most=3), bands, bands, st.booleans(), st.floats(0, 1), st.floats(0, 1))
def test_a_range_that_holds_the_truth_never_gives_a_set_that_the_truth_refuses(
    loads: list[dict[str, Any]],
    altitude: list[float],
    ambient: list[float],
    open_start: bool,
    true_altitude: float,
    true_ambient: float,
) -> None:
    if open_start:
        loads = [{**one, "starting": "unsure"} for one in loads]
    job = read_requirement(a_document(*loads))
    low_m, likely_m, high_m = (3500 * share for share in altitude)
    low_c, likely_c, high_c = (45 * share for share in ambient)
    site = replace(
        job.site,
        altitude_m=Band(low_m, likely_m, high_m, "test"),
        ambient_c=Band(low_c, likely_c, high_c, "test"),
    )
    job = replace(job, site=site)
    found = recommend(job, FLEET)
    assume(found.options and found.options[0].kind == "one_set")
    open_ = unknowns(job)
    truth = list(corner(open_, "likely"))
    for place, one in enumerate(open_):
        if one.code == "altitude_unsure":
            truth[place] = low_m + true_altitude * (high_m - low_m)
        elif one.code == "ambient_unsure":
            truth[place] = low_c + true_ambient * (high_c - low_c)
        elif one.code == "start_assumed":
            choices = (*one.values, *one.others)
            truth[place] = choices[int(true_altitude * (len(choices) - 1))]
    true_job = settled(job, open_, tuple(truth))
    chosen = found.options[0].parts[0].set_
    assert sized(true_job, [chosen], settle_supply(true_job)).options[0].kind == "one_set"
