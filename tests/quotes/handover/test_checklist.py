"""The sheet's rules, one by one: on the sheet where the fact holds, absent where it does not."""

from __future__ import annotations

import json
from typing import Any

import pytest

from quotes.handover.card import card_rows, start_card
from quotes.handover.checklist import RETURN, checklist, items_of, rules
from quotes.handover.job import FACTS, HandoverJob
from tests.quotes.cast import sized
from tests.quotes.handover.jobs import STORIES, job_of, job_with

ALWAYS = {rule.key for rule in rules() if not rule.when}


@pytest.mark.parametrize("rule", rules(), ids=lambda rule: rule.key)
def test_each_rule_is_there_where_it_applies_and_only_there(rule: Any) -> None:
    holding = [name for name in rule.when if not name.startswith("!")]
    assert rule.key in items_of(job_with(*holding))
    if rule.when:
        lacking = [name[1:] for name in rule.when if name.startswith("!")]
        assert rule.key not in items_of(job_with(*lacking))


@pytest.mark.parametrize("rule", [*rules(), *rules(RETURN)], ids=lambda rule: rule.key)
def test_each_rule_says_where_it_comes_from(rule: Any) -> None:
    named = ("CFR", "NEC", "SAE", "NFPA", "CPSC", "common practice, no source", "own record")
    assert any(name in rule.source for name in named)


# The regulations that the sheet must name, as in the reference files.
@pytest.mark.parametrize(
    ("key", "section"),
    [
        ("brakes", "49 CFR 393.42"), ("chains", "49 CFR 393.70(d)"), ("breakaway", "49 CFR 393.43"),
        ("tow_rating", "SAE J684"), ("bulk_tank", "49 CFR 171.8"), ("spill_plan", "40 CFR 112.1"),
        ("gfci", "590.6(A)"), ("gfci", "29 CFR 1926.404(b)(1)"), ("ground_rod", "250.34"),
        ("frame_ground", "29 CFR 1926.404(f)(3)"), ("openings", "CPSC"), ("cam_lock", "406.13"),
        ("building", "702.5"), ("emergency_stop", "445.19(B)"),
    ],
)  # fmt: skip
def test_regulations_are_named_with_their_section(key: str, section: str) -> None:
    (rule,) = [rule for rule in rules() if rule.key == key]
    assert section in rule.source


def test_the_demos_dewatering_sheet() -> None:
    keys = set(items_of(job_of("dewatering")))
    assert {
        "brakes",
        "breakaway",
        "selector",
        "cam_lock",
        "start_cable",
        "rotation",
        "ramps",
    } <= keys
    assert {"sockets_dead", "starts_itself", "lead_protection", "ground_rod"} <= keys
    assert not {"lugs", "receptacles", "building", "high_leg", "frame_ground", "bulk_tank"} & keys
    assert "480Y/277" in items_of(job_of())["selector"].text
    assert "ground, neutral, phase A" in items_of(job_of())["cam_lock"].text


def test_the_shelter_is_a_building_with_an_auxiliary_tank() -> None:
    keys = set(items_of(job_of("emergency_shelter")))
    assert {"building", "auxiliary_tank", "lugs", "public", "start_cable"} <= keys


# T60: 1,680 kg + 440 L x 0.85 kg/L; T15: 820 kg + 190 L x 0.85: on either side of 3,000 lb
# (49 CFR 393.42). The weights are the demo's, the limit is the rule's.
@pytest.mark.parametrize(("code", "brakes"), [("T60", True), ("T15", False)])
def test_brakes_follow_the_gross_weight(code: str, brakes: bool) -> None:
    keys = set(items_of(job_of(set_code=code)))
    assert ("brakes" in keys, "brakes_light" in keys) == (brakes, not brakes)


# 119 US gallons are 450.5 L (49 CFR 171.8): 440 L is below, 570 L above.
@pytest.mark.parametrize(("code", "bulk"), [("T60", False), ("T75", True)])
def test_a_tank_over_119_gallons_is_a_bulk_package(code: str, bulk: bool) -> None:
    assert ("bulk_tank" in items_of(job_of(set_code=code))) == bulk


def test_towing_by_the_customer_and_refuelling_by_us_follow_the_choices() -> None:
    keys = set(items_of(job_of(choices={"delivery": "customer", "refuelling": "owner"})))
    assert {"customer_tows", "owner_refuels"} <= keys
    assert "refuelling" not in keys


def test_every_fact_is_used_and_can_hold_or_not() -> None:
    used = {name.removeprefix("!") for rule in rules() for name in rule.when}
    heads, steps = card_rows()
    used |= {name.removeprefix("!") for row in (*heads, *steps) for name in row.when}
    assert set(FACTS) - used <= {"three_phase", "emergency", "owner_connects"}


@pytest.mark.parametrize("story", STORIES)
@pytest.mark.parametrize("language", ["en", "es"])
def test_sheet_and_card_are_filled_in(story: str, language: str) -> None:
    job = job_of(story)
    words = [item.text for group in checklist(job, language=language) for item in group.items]
    words += [step for part in start_card(job, language) for step in part.steps]
    words += [item.text for group in checklist(job, RETURN, language) for item in group.items]
    assert all(word and "{" not in word for word in words)


def card_text(job: HandoverJob, part: str, language: str = "en") -> str:
    return " ".join(" ".join(p.steps) for p in start_card(job, language) if p.key == part)


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_card_warms_up_at_idle_before_run_speed_and_cools_down_before_stopping(
    language: str,
) -> None:
    manual = card_text(job_of(), "manual", language)
    assert 0 < manual.index("1,000") < manual.index("1,200") < manual.index("1,800")
    stop = next(p.steps for p in start_card(job_of(), language) if p.key == "stop")
    assert "3" in stop[1]
    assert ("off" if language == "en" else "apagado") in stop[2]


def test_automatic_mode_is_on_the_card_only_where_a_float_switch_calls() -> None:
    assert card_text(job_of("dewatering"), "automatic")
    assert not card_text(job_of("jobsite_trailer"), "automatic")


def test_the_selector_is_never_touched_by_the_customer() -> None:
    assert "Never turn the voltage selector" in card_text(job_of(), "never")


def test_a_part_of_an_option_has_its_own_supply() -> None:
    from quotes.handover.job import handover_job
    from tests.quotes.handover.jobs import fleet

    option = json.loads(sized("dewatering"))["recommendation"]
    second = {"code": "T30", "name": "-", "quantity": 1, "supply": "208Y/120"}
    leads = {**option["leads"], "connection": "lugs"}
    both = {
        **option,
        "sets": [*option["sets"], second],
        "parts": [
            {"supply": "480Y/277", "leads": option["leads"]},
            {"supply": "208Y/120", "leads": leads},
        ],
    }
    job = handover_job(
        requirement={"site": {}},
        result={},
        option=both,
        set_=fleet()["T30"],
        choices={},
        position=1,
    )
    assert job.words["supply"] == "208Y/120"
    assert {"lugs"} <= job.facts
    assert "cam_lock" not in job.facts
