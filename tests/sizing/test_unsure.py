"""Chapter 12: ranges are carried through; where the answer holds, go on, where not, ask."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from typing import Any

import pytest

from sizing import read_requirement
from sizing.finding import Finding, Severity
from sizing.recommend import sized
from sizing.requirement import Requirement
from sizing.supply import settle_supply
from sizing.unknowns import LEVELS, Unknown, corner, samples, say, settled, unknowns
from sizing.unsure import Answer, distance, explore, rank
from tests.sizing.composition_cast import HEATER, PUMP, a_document, a_fleet, a_requirement, a_set

FLEET = a_fleet()
OPEN_PUMP = {key: PUMP[key] for key in ("name", "kind", "nameplate")}


def answered(job: Requirement, fleet: Any = FLEET) -> tuple[Answer, list[Finding]]:
    """The chapter's answer for a job."""
    size = partial(sized, fleet=fleet, plan=settle_supply(job))
    return explore(job, fleet, size)


def open_job(*loads: dict[str, Any], **site: Any) -> Requirement:
    """A job whose named site fields are left open."""
    return read_requirement(a_document(*loads, site=site))


def answer_of(job: Requirement) -> Answer:
    return sized(job, FLEET, settle_supply(job))


def test_a_settled_job_has_no_unknowns_and_no_notes() -> None:
    assert unknowns(a_requirement()) == ()
    assert answered(a_requirement())[1] == []


@pytest.mark.parametrize(
    ("field", "code"),
    [("altitude", "altitude_unsure"), ("ambient", "ambient_unsure"),
     ("hours_per_day", "hours_unsure"), ("lead_length", "lead_length_unsure")],
)  # fmt: skip
def test_a_site_field_left_out_is_an_unknown(field: str, code: str) -> None:
    assert [one.code for one in unknowns(open_job(**{field: None}))] == [code]
    assert [one.code for one in unknowns(open_job(**{field: "unsure"}))] == [code]


@pytest.mark.parametrize(
    ("load", "codes"),
    [
        (OPEN_PUMP, ["start_assumed", "float_switch_unsure"]),
        ({**HEATER, "kind": "hvac", "starting": "across_the_line"}, ["restarts_itself_unsure"]),
        ({**PUMP, "kind": "compressor"}, ["restarts_itself_unsure"]),
        ({**PUMP, "kind": "compressor", "restarts_itself": False}, []),
        (HEATER, []),
    ],
)
def test_a_load_leaves_open_what_bears_on_its_start(load: dict[str, Any], codes: list[str]) -> None:
    assert [one.code for one in unknowns(a_requirement(load))] == codes


def test_a_dewatering_pump_is_likely_on_a_float_switch() -> None:
    job = read_requirement(a_document(OPEN_PUMP, application="dewatering"))
    switch = next(one for one in unknowns(job) if one.code == "float_switch_unsure")
    assert switch.values == (False, True, True)
    assert settled(job, [switch], (True,)).loads[0].float_switch is True


def test_a_corner_settles_everything() -> None:
    job = open_job(OPEN_PUMP, HEATER, altitude=None, ambient=None)
    open_ = unknowns(job)
    for level in LEVELS:
        assert unknowns(settled(job, open_, corner(open_, level))) == ()


def test_a_point_of_another_length_is_refused() -> None:
    job = open_job(altitude=None)
    with pytest.raises(ValueError):
        settled(job, unknowns(job), ())


def test_samples_take_each_value_outside_the_order_and_a_lattice() -> None:
    job = a_requirement(OPEN_PUMP, {**OPEN_PUMP, "name": "Other"})
    open_ = unknowns(job)
    points = samples(open_, 16)
    places = [place for place, one in enumerate(open_) if not one.monotone]
    assert len(places) == 2
    assert len(points) == len(set(points)) <= 16
    for place in places:
        assert {"vfd", "wye_delta"} <= {point[place] for point in points}
    assert samples([one for one in open_ if one.monotone], 16) == []
    assert len(samples(open_[:1], 16)) == 2


def test_where_the_answer_holds_it_is_a_note_with_the_assumption() -> None:
    answer, findings = answered(open_job(HEATER, lead_length=None))
    assert answer.options
    assert [one.code for one in findings] == ["lead_length_unsure"]
    assert findings[0].severity is Severity.NOTE
    assert "the answer is the same" in findings[0].detail
    assert findings[0].evidence["likely_m"] == 15


def test_where_it_does_not_hold_one_question_needs_a_person() -> None:
    job = a_requirement({**OPEN_PUMP, "float_switch": False})
    answer, findings = answered(job)
    asked = [one for one in findings if one.severity is Severity.NEEDS_PERSON]
    assert [one.code for one in asked] == ["start_assumed"]
    assert asked[0].question == "How is Pump started?"
    assert asked[0].evidence["doubt_removed_percent"] == pytest.approx(100)
    across = answer_of(a_requirement(PUMP))
    assert answer.mark == across.mark


def test_the_answer_given_is_the_one_that_no_value_refuses() -> None:
    job = a_requirement({**OPEN_PUMP, "float_switch": False})
    given, _ = answered(job)
    chosen = given.options[0].rated_kw
    for method in ("soft_starter", "wye_delta", "across_the_line", "vfd"):
        truth = answer_of(a_requirement({**PUMP, "starting": method}))
        assert truth.options[0].rated_kw <= chosen


def test_the_question_that_removes_most_doubt_comes_first() -> None:
    job = read_requirement(
        a_document({**PUMP, "float_switch": None, "starting": "unsure"}, site={"ambient": None})
    )
    _, findings = answered(job)
    removed = [one.evidence["doubt_removed_percent"] for one in findings if "rank" in one.evidence]
    assert removed == sorted(removed, reverse=True)
    assert [one.evidence["rank"] for one in findings if "rank" in one.evidence] == [1, 2, 3]
    assert [one.severity for one in findings].count(Severity.NEEDS_PERSON) == 1
    assert findings[0].severity is Severity.NEEDS_PERSON


def test_an_unknown_that_changes_nothing_alone_says_so() -> None:
    job = read_requirement(a_document({**PUMP, "starting": "unsure"}, site={"lead_length": None}))
    _, findings = answered(job)
    quiet = next(one for one in findings if one.code == "lead_length_unsure")
    assert "does not change by this alone" in quiet.detail
    assert quiet.evidence["changes_steps"] == 0


def test_two_doubts_of_equal_weight_remove_half_each() -> None:
    """Two unknowns, each good for one size, together for two: the equation's own example."""
    job = a_requirement()
    fleet = a_fleet(20, 40, 60)

    def put(requirement: Requirement, value: int) -> Requirement:
        points.append(value)
        return requirement

    points: list[int] = []
    open_ = [
        Unknown(f"u{n}", "loads", "?", (0, 0, 1), "", "", put) for n in range(2)
    ]  # fmt: skip

    def size(_: Requirement) -> Answer:
        total = points[-1] + points[-2]
        set_ = fleet[total]
        found = answer_of(job)
        part = found.options[0].parts[0]
        option = replace(found.options[0], parts=(replace(part, set_=set_),))
        return replace(found, options=(option,))

    weights = rank(job, open_, ((0, 0), (1, 1)), fleet, size)
    assert [round(one.removed_percent) for one in weights] == [50, 50]
    assert [one.change for one in weights] == [1, 1]


def test_distance_counts_sizes_accessories_and_supply() -> None:
    small, large = answer_of(a_requirement(HEATER)), answer_of(a_requirement(PUMP))
    ramps = answer_of(a_requirement(HEATER, site={"crossing": True}))
    low = answer_of(a_requirement({**HEATER, "nameplate": "10 kW 208 V 3 ph"}, supply="208Y/120"))
    none = answer_of(a_requirement({**HEATER, "nameplate": "400 kW 480 V 3 ph"}))
    assert distance(small, small, FLEET) == 0
    assert distance(small, ramps, FLEET) == 1
    assert distance(small, low, FLEET) >= 1
    assert distance(small, large, FLEET) >= 2
    assert distance(small, none, FLEET) > distance(small, large, FLEET)
    assert distance(none, none, FLEET) == 0


def test_where_only_the_easy_end_fits_the_question_says_so() -> None:
    job = read_requirement(a_document({**PUMP, "starting": "unsure"}))
    fleet = [replace(one, quantity=1) for one in a_fleet(20)]
    _, findings = answered(job, fleet)
    assert findings[0].question == "How is Pump started?"
    hopeless = read_requirement(
        a_document({**PUMP, "nameplate": "75 hp 460 V 3 ph 60 Hz code G", "starting": "unsure"})
    )
    answer, findings = answered(hopeless, [a_set(100, quantity=1)])
    assert not answer.options
    assert findings[0].evidence["sets_if_high"] == "no set"


def test_a_doubt_seen_only_at_the_hard_end_still_needs_a_person() -> None:
    job = read_requirement(a_document(HEATER, site={"altitude": None}))
    fleet = [
        one.__class__(**{**{n: getattr(one, n) for n in one.__slots__},
                         "engine_altitude_derate": ((0.0, 1.0), (1000.0, 1.0))})
        for one in FLEET
    ]  # fmt: skip
    _, findings = answered(job, fleet)
    assert "outside_table" in {
        one.code for one in findings if one.severity is Severity.NEEDS_PERSON
    }


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [
        (True, "", "yes"), (False, "", "no"), (1000.0, "m", "3,281 ft (1,000 m)"),
        (40.0, "degC", "104 degF (40 degC)"), (24.0, "h", "24 h"),
        ("across_the_line", "", "across the line"),
    ],
)  # fmt: skip
def test_values_are_said_as_a_customer_reads_them(value: Any, unit: str, words: str) -> None:
    assert say(value, unit) == words


SITE_LADDERS = {
    "altitude": ["0 m", "500 m", "1500 m", "2500 m", "3500 m"],
    "ambient": ["0 degC", "20 degC", "35 degC", "45 degC"],
    "hours_per_day": ["4 h", "8 h", "16 h", "24 h"],
    "refuel_every": ["8 h", "24 h", "72 h", "168 h"],
    "lead_length": ["2 m", "20 m", "80 m", "200 m"],
}


@pytest.mark.parametrize("name", sorted(SITE_LADDERS))
def test_bands_of_the_site_are_monotone_so_their_corners_tell_all(name: str) -> None:
    """Along each band, the other fields fixed, the set never gets smaller: what justifies the
    corner search."""
    from demo_fixtures import fleet_path
    from sizing import read_fleet

    fleet = read_fleet(fleet_path())
    powers, tanks = [], []
    for step in SITE_LADDERS[name]:
        job = read_requirement(a_document(site={name: step}))
        option = sized(job, fleet, settle_supply(job)).options[0]
        powers.append(option.rated_kw)
        tanks.append(any(a.code == "auxiliary_tank" for a in option.parts[0].accessories))
    assert powers == sorted(powers)
    if name in ("hours_per_day", "refuel_every"):
        assert tanks == sorted(tanks)
