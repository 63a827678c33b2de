"""A requirement document: read whole, or refused with every problem and its path."""

from __future__ import annotations

import json
from datetime import date, time
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sizing.errors import DocumentRefused, Problem
from sizing.requirement import (
    APPLICATIONS,
    Band,
    Hire,
    Requirement,
    Sump,
    Towing,
    known,
    read_requirement,
)

FOLDER = Path(__file__).parents[2] / "demo_fixtures" / "stories"
STORIES = sorted(p for p in FOLDER.glob("*.json") if not p.stem.endswith(".expected"))
DOCUMENT: dict[str, Any] = {
    "application": "dewatering",
    "supply": "480Y/277",
    "site": {
        "zip": "80424", "altitude": "9600 ft", "ambient": "90 degF", "hours_per_day": 24,
        "refuel_every": "24 h", "lead_length": "75 ft", "noise_limit": "65 dBA",
        "noise_distance": "50 ft", "public_nearby": True,
    },
    "hire": {"start": "2027-06-01", "end": "2027-06-14"},
    "loads": [
        {"name": "Sump pump", "kind": "pump", "quantity": 1,
         "nameplate": "15 hp 460 V 3 ph 60 Hz 21 A code G", "starting": "across_the_line",
         "float_switch": True},
        {"name": "Flood light", "kind": "lamp", "quantity": 4,
         "nameplate": "1000 W metal halide 480 V 1 ph"},
    ],
}  # fmt: skip


def document(**changes: Any) -> dict[str, Any]:
    copy: dict[str, Any] = json.loads(json.dumps(DOCUMENT))
    return {**copy, **changes}


def with_site(**fields: Any) -> dict[str, Any]:
    return document(site=fields)


def with_load(**fields: Any) -> dict[str, Any]:
    return document(loads=[{"name": "Pump", "kind": "pump", "nameplate": "15 hp 460 V", **fields}])


def problems(given: Any) -> list[tuple[str, str]]:
    with pytest.raises(DocumentRefused) as refusal:
        read_requirement(given)
    assert all(p.message for p in refusal.value.problems)
    return [(p.path, p.code) for p in refusal.value.problems]


def test_a_whole_document_is_read_in_si_units() -> None:
    found = read_requirement(DOCUMENT)
    assert (found.application, found.supply, found.supply_unsure) == (
        "dewatering", "480Y/277", False,
    )  # fmt: skip
    assert found.site.altitude_m == known(pytest.approx(2926.08))
    assert found.site.ambient_c.likely == pytest.approx(32.222, abs=1e-3)
    assert found.site.hours_per_day == known(24)
    assert found.site.lead_length_m.likely == pytest.approx(22.86)
    assert (found.site.noise_limit_dba, found.site.public_nearby) == (65, True)
    assert found.hire == Hire(date(2027, 6, 1), date(2027, 6, 14))
    assert [load.name for load in found.loads] == ["Sump pump", "Flood light"]
    assert (found.loads[0].float_switch, found.loads[0].starting) == (True, "across_the_line")
    assert (found.loads[1].quantity, found.loads[1].starting) == (4, "unsure")


@pytest.mark.parametrize("path", STORIES, ids=lambda p: p.stem)
def test_every_story_of_the_demo_is_read(path: Path) -> None:
    assert isinstance(read_requirement(json.loads(path.read_text("utf-8"))), Requirement)


def test_every_optional_field_of_a_site_is_read() -> None:
    site = read_requirement(with_site(
        barrier="5 dB", openings_distance="20 ft", lights_until="23:30", work_hours="07:00-17:00",
        sump={"inflow": "100 gpm", "pump_rate": "200 gpm", "active_volume": "500 gal",
              "alternating": True},
        towing={"vehicle_rating": "7000 lb", "hitch_class": 3, "brake_controller": True},
        plugs=["l14-30", " 14-50 "], crossing=True, feeds_building=False,
        transfer_equipment=None, redundancy="n+1",
    )).site  # fmt: skip
    assert (site.barrier_db, site.openings_distance_m) == (5, pytest.approx(6.096))
    assert (site.lights_until, site.work_from, site.work_until) == (
        time(23, 30), time(7), time(17),
    )  # fmt: skip
    assert site.sump == Sump(
        pytest.approx(6.309, abs=1e-3), pytest.approx(12.618, abs=1e-3),
        pytest.approx(1892.7, abs=0.1), True,
    )  # fmt: skip
    assert site.towing == Towing(pytest.approx(3175.15, abs=0.01), 3, True)
    assert site.plugs == ("L14-30", "14-50")
    assert (site.crossing, site.feeds_building, site.transfer_equipment) == (True, False, None)
    assert site.redundancy == "n+1"


def test_every_optional_field_of_a_load_is_read() -> None:
    (load, _) = read_requirement(document(loads=[
        {"name": "A", "kind": "motor", "nameplate": {"hp": 5, "volts": 460}, "quantity": 500,
         "starting": "vfd", "starts_after": "B", "never_with": "B", "restarts_itself": False,
         "demand_factor": 0.8, "float_switch": None},
        {"name": "B", "kind": "heater", "nameplate": "1500 W 120 V"},
    ])).loads  # fmt: skip
    assert (load.quantity, load.starting, load.demand_factor) == (500, "vfd", 0.8)
    assert (load.starts_after, load.never_with) == ("B", "B")
    assert (load.restarts_itself, load.float_switch) == (False, None)
    assert load.nameplate.hp == 5


def test_what_is_left_out_or_unsure_becomes_a_range_with_its_reason() -> None:
    left_out = read_requirement(document(site={}))
    unsure = read_requirement(document(site=dict.fromkeys(
        ("altitude", "ambient", "hours_per_day", "refuel_every", "lead_length", "zip", "sump",
         "towing", "plugs", "work_hours", "lights_until", "redundancy"), "unsure")
    ))  # fmt: skip
    assert left_out.site == unsure.site == read_requirement(document(site="unsure")).site
    for band in (left_out.site.altitude_m, left_out.site.ambient_c, left_out.site.lead_length_m):
        assert band.low < band.likely < band.high
        assert band.assumed
        assert not band.known
    assert left_out.site.refuel_every_h == Band(24, 24, 24, "refuelled once a day")


def test_a_zip_narrows_altitude_and_ambient_to_its_state() -> None:
    site = read_requirement(with_site(zip="80424")).site
    assert (site.zip, site.timezone) == ("80424", "America/Denver")
    assert site.latitude_deg == pytest.approx(39.5, abs=0.2)
    assert site.longitude_deg == pytest.approx(-106.0, abs=0.2)
    assert site.altitude_m.low < 2926 < site.altitude_m.high
    assert "CO" in site.altitude_m.assumed
    yearly = read_requirement(document(site={"zip": "80424"}, hire=None)).site
    assert yearly.ambient_c.low < site.ambient_c.low


def test_an_unsure_supply_is_none_and_marked() -> None:
    left_out = {name: value for name, value in document().items() if name != "supply"}
    for unsure in (document(supply="unsure"), left_out):
        found = read_requirement(unsure)
        assert (found.supply, found.supply_unsure) == (None, True)


def test_an_unsure_nameplate_is_empty_and_a_nameless_load_is_numbered() -> None:
    found = read_requirement(document(loads=[{"kind": "pump", "nameplate": "unsure"}, {}]))
    assert [load.name for load in found.loads] == ["Load 1", "Load 2"]
    assert [load.kind for load in found.loads] == ["pump", "other"]
    assert found.loads[0].nameplate.text == ""


@pytest.mark.parametrize(
    ("given", "expected"),
    [
        (document(application="unsure"), [("application", "missing")]),
        (document(application=None), [("application", "missing")]),
        (document(application="party"), [("application", "unknown_choice")]),
        (document(application=["dewatering"]), [("application", "unknown_choice")]),
        (document(supply="600Y/347"), [("supply", "unknown_choice")]),
        (document(extra=1), [("extra", "unknown_field")]),
        (document(site=5), [("site", "not_an_object")]),
        (document(hire="June"), [("hire", "not_an_object")]),
        (document(hire={"start": "2027-06-01"}), [("hire.end", "missing")]),
        (document(hire={}), [("hire.start", "missing"), ("hire.end", "missing")]),
        (document(hire={"start": "2027-06-31", "end": "2027-07-01"}),
         [("hire.start", "malformed")]),
        (document(hire={"start": 5, "end": "2027-07-01"}), [("hire.start", "malformed")]),
        (document(hire={"start": "2027-06-14", "end": "2027-06-01"}),
         [("hire.end", "end_before_start")]),
        (document(hire={"start": "2027-06-01", "end": "2027-06-02", "x": 1}),
         [("hire.x", "unknown_field")]),
        (document(loads=[]), [("loads", "no_loads")]),
        (document(loads=None), [("loads", "no_loads")]),
        (document(loads="pump"), [("loads", "no_loads")]),
        (document(loads=[{}] * 5000), [("loads", "too_many_loads")]),
        (document(loads=["pump"]), [("loads[0]", "not_an_object")]),
        (with_site(altitude="9600"), [("site.altitude", "no_unit")]),
        (with_site(altitude="5 kg"), [("site.altitude", "wrong_dimension")]),
        (with_site(altitude="30,000 ft"), [("site.altitude", "absurd")]),
        (with_site(ambient="200 degF"), [("site.ambient", "absurd")]),
        (with_site(hours_per_day=25), [("site.hours_per_day", "absurd")]),
        (with_site(hours_per_day=-1), [("site.hours_per_day", "negative")]),
        (with_site(lead_length="-5 ft"), [("site.lead_length", "negative")]),
        (with_site(noise_limit="loud"), [("site.noise_limit", "not_a_number")]),
        (with_site(public_nearby="yes"), [("site.public_nearby", "malformed")]),
        (with_site(zip="00000"), [("site.zip", "zip_unknown")]),
        (with_site(zip="8042"), [("site.zip", "zip_malformed")]),
        (with_site(zip=80424), [("site.zip", "malformed")]),
        (with_site(zip="  "), [("site.zip", "malformed")]),
        (with_site(work_hours="all day"), [("site.work_hours", "malformed")]),
        (with_site(work_hours=8), [("site.work_hours", "malformed")]),
        (with_site(lights_until="25:00"), [("site.lights_until", "malformed")]),
        (with_site(lights_until="late"), [("site.lights_until", "malformed")]),
        (with_site(sump=5), [("site.sump", "not_an_object")]),
        (with_site(sump={"depth": "5 ft"}), [("site.sump.depth", "unknown_field")]),
        (with_site(sump={"inflow": "5 ft"}), [("site.sump.inflow", "wrong_dimension")]),
        (with_site(towing={"hitch_class": 6}), [("site.towing.hitch_class", "malformed")]),
        (with_site(towing={"hitch_class": True}), [("site.towing.hitch_class", "malformed")]),
        (with_site(towing={"truck": 1}), [("site.towing.truck", "unknown_field")]),
        (with_site(plugs="L14-30"), [("site.plugs", "malformed")]),
        (with_site(plugs=[5]), [("site.plugs", "malformed")]),
        (with_site(redundancy="2n"), [("site.redundancy", "unknown_choice")]),
        (with_site(colour="red"), [("site.colour", "unknown_field")]),
        (with_load(kind="rocket"), [("loads[0].kind", "unknown_choice")]),
        (with_load(quantity=0), [("loads[0].quantity", "malformed")]),
        (with_load(quantity=501), [("loads[0].quantity", "malformed")]),
        (with_load(quantity="two"), [("loads[0].quantity", "malformed")]),
        (with_load(starting="kick"), [("loads[0].starting", "unknown_choice")]),
        (with_load(demand_factor=1.2), [("loads[0].demand_factor", "absurd")]),
        (with_load(demand_factor=0), [("loads[0].demand_factor", "absurd")]),
        (with_load(float_switch="yes"), [("loads[0].float_switch", "malformed")]),
        (with_load(starts_after="Ghost"), [("loads[0].starts_after", "unknown_load")]),
        (with_load(never_with="Ghost"), [("loads[0].never_with", "unknown_load")]),
        (with_load(name="x" * 201), [("loads[0].name", "malformed")]),
        (with_load(weight=5), [("loads[0].weight", "unknown_field")]),
        (with_load(nameplate="15 horse"), [("loads[0].nameplate", "nothing_understood")]),
        (with_load(nameplate="460"), [("loads[0].nameplate", "nothing_understood")]),
        (with_load(nameplate="40,000 hp"), [("loads[0].nameplate.hp", "absurd")]),
        (with_load(nameplate=5), [("loads[0].nameplate", "malformed")]),
        (with_load(nameplate={"hp": "15 horse"}), [("loads[0].nameplate.hp", "unknown_unit")]),
    ],
    ids=lambda value: str(value[0]) if isinstance(value, list) else "",
)  # fmt: skip
def test_each_problem_has_its_path_and_code(given: Any, expected: list[tuple[str, str]]) -> None:
    assert problems(given) == expected


def test_all_problems_come_at_once_in_the_order_of_the_document() -> None:
    broken = document(supply="x", site={"altitude": "5", "zip": "00000"}, loads=[{"kind": "x"}, 5])
    assert problems(broken) == [
        ("supply", "unknown_choice"),
        ("site.zip", "zip_unknown"),
        ("site.altitude", "no_unit"),
        ("loads[0].kind", "unknown_choice"),
        ("loads[1]", "not_an_object"),
    ]


def test_a_document_that_is_no_object_is_refused() -> None:
    assert problems([]) == [("", "not_an_object")]
    assert problems("x") == [("", "not_an_object")]


def test_a_thousand_rows_are_taken() -> None:
    rows = [{"nameplate": "1500 W 120 V"}] * 1000
    assert len(read_requirement(document(loads=rows)).loads) == 1000


def test_a_load_may_not_wait_for_itself() -> None:
    assert problems(with_load(starts_after="Pump")) == [("loads[0].starts_after", "unknown_load")]


JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-5, 5000) | st.text(max_size=8) | st.just("unsure"),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner),
    max_leaves=6,
)
FIELDS = ("application", "supply", "site", "hire", "loads", "extra")


@given(st.dictionaries(st.sampled_from(FIELDS), JSON))
def test_any_document_is_read_or_refused(changes: dict[str, Any]) -> None:
    try:
        found = read_requirement({**document(), **changes})
    except DocumentRefused as refusal:
        held: list[Problem] = refusal.problems
    else:
        held = []
        assert found.application in APPLICATIONS
    assert all(problem.code and problem.message for problem in held)


@given(st.dictionaries(st.sampled_from((
    "zip", "altitude", "ambient", "hours_per_day", "work_hours", "sump", "towing", "plugs",
    "crossing", "redundancy", "lights_until",
)), JSON))  # fmt: skip
def test_any_site_is_read_or_refused(site: dict[str, Any]) -> None:
    try:
        found = read_requirement(document(site=site)).site
    except DocumentRefused:
        return
    for band in (found.altitude_m, found.ambient_c, found.hours_per_day, found.lead_length_m):
        assert band.low <= band.likely <= band.high
