"""Whatever is asked, the method answers: an outcome, a question where in doubt, never a crash."""

from __future__ import annotations

import json
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from demo_fixtures import fleet_path
from sizing import DocumentRefused, read_fleet, read_requirement, recommend, sheet
from sizing.requirement import APPLICATIONS, LOAD_KINDS, STARTING_METHODS, SUPPLIES
from sizing.result import OUTCOMES

FLEET = read_fleet(fleet_path())
PLATES = (
    "15 hp 460 V 3 ph 60 Hz 21 A code G", "10 hp 208-230/460 V 3 ph 28-26/13 A", "5 hp 230 V 1 ph",
    "7.5 kW 400 V 50 Hz 3 ph", "1000 W metal halide 480 V 1 ph", "500 W LED 120-277 V",
    "MCA 32 MOCP 45 208/230-1-60", "125 A 120/240 panel", "200 A 208Y/120 panel",
    "25 kVA 480-208Y/120",
    "1500 W 120 V", "10 kW 480 V 3 ph", "40 kVA 480 V 3 ph", "3 hp 115/230 V 1 ph code V",
    "575 V 20 hp", "FLA 21 LRA 128 460 V 3 ph", "500 hp 460 V 3 ph", "0.25 hp 115 V", "", "230 V",
)  # fmt: skip

flags = st.sampled_from([True, False, None])
loads = st.fixed_dictionaries(
    {"kind": st.sampled_from(LOAD_KINDS), "nameplate": st.sampled_from(PLATES)},
    optional={
        "quantity": st.integers(1, 20),
        "starting": st.sampled_from((*STARTING_METHODS, "unsure")),
        "float_switch": flags,
        "restarts_itself": flags,
        "demand_factor": st.sampled_from([0.1, 0.6, 1.0]),
        "starts_after": st.sampled_from(["L0", "L1"]),
        "never_with": st.sampled_from(["L0", "L1"]),
    },
)
sites = st.fixed_dictionaries(
    {},
    optional={
        "altitude": st.sampled_from(["0 ft", "9600 ft", "15000 ft", "unsure"]),
        "ambient": st.sampled_from(["-40 degF", "90 degF", "125 degF", "unsure"]),
        "hours_per_day": st.sampled_from([1, 10, 24, "unsure"]),
        "refuel_every": st.sampled_from(["6 h", "24 h", "240 h"]),
        "lead_length": st.sampled_from(["0 ft", "75 ft", "900 ft", "unsure"]),
        "zip": st.sampled_from(["80424", "99723", "96813", "unsure"]),
        "noise_limit": st.sampled_from(["30 dBA", "65 dBA"]),
        "noise_distance": st.sampled_from(["0.5 m", "50 ft"]),
        "feeds_building": flags,
        "transfer_equipment": flags,
        "openings_distance": st.sampled_from(["5 ft", "40 ft"]),
        "plugs": st.lists(st.sampled_from(["L14-30", "14-50", "5-20", "what"]), max_size=6),
        "redundancy": st.sampled_from(["n", "n+1"]),
        "crossing": flags,
        "public_nearby": flags,
        "lights_until": st.just("23:30"),
        "towing": st.just({"vehicle_rating": "6000 lb", "hitch_class": 3}),
        "sump": st.sampled_from(
            [{"inflow": "60 gpm"}, {"pump_rate": "200 gpm", "inflow": "500 gpm"}]
        ),
    },
)  # fmt: skip


@st.composite
def documents(draw: st.DrawFn) -> dict[str, Any]:
    """A document that may well be odd, but is a document."""
    rows = draw(st.lists(loads, min_size=1, max_size=4))
    return {
        "application": draw(st.sampled_from(APPLICATIONS)),
        "supply": draw(st.sampled_from((*SUPPLIES, "unsure"))),
        "site": draw(sites),
        "hire": {"start": "2027-06-01", "end": draw(st.sampled_from(["2027-06-14", "2028-07-01"]))},
        "loads": [named(row, n, len(rows)) for n, row in enumerate(rows)],
    }


def named(row: dict[str, Any], place: int, count: int) -> dict[str, Any]:
    """The row with its name, naming only other loads of the job."""
    others = {f"L{n}" for n in range(count) if n != place}
    apart = {"starts_after", "never_with"}
    return {
        "name": f"L{place}",
        **{key: value for key, value in row.items() if key not in apart or value in others},
    }


@settings(max_examples=40)
@given(documents())
def test_every_job_gets_an_answer_that_can_be_stored_and_printed(document: dict[str, Any]) -> None:
    try:
        requirement = read_requirement(document)
    except DocumentRefused as refused:
        problems = refused.problems
    else:
        problems = []
        check_answer(document, recommend(requirement, FLEET).document())
    assert all(problem.path and problem.message for problem in problems)


def check_answer(document: dict[str, Any], found: dict[str, Any]) -> None:
    """What must hold of any answer."""
    assert found["outcome"] in OUTCOMES
    assert json.loads(json.dumps(found, allow_nan=False)) == found
    assert sheet(found)
    asked = [one for one in found["findings"] if one["severity"] == "needs_person"]
    clear = not asked and found["recommendation"] is not None
    assert (found["outcome"] == "recommended") is clear
    assert all(one["detail"] for one in found["findings"])
    assert all(one["question"] for one in asked), asked
    if document["supply"] == "unsure":
        assert found["outcome"] == "needs_person"
