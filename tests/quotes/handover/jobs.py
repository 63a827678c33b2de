"""Jobs of the demo stories, as a handover sees them."""

from __future__ import annotations

import json
from functools import lru_cache
from typing import Any

import demo_fixtures
from quotes.handover.job import HandoverJob, handover_job
from sizing.fleet import read_fleet
from tests.quotes.cast import sized

STORIES = ("dewatering", "jobsite_trailer", "event_lighting", "emergency_shelter")


@lru_cache(maxsize=1)
def fleet() -> dict[str, Any]:
    return {one.code: one for one in read_fleet(demo_fixtures.fleet_path())}


def job_of(story: str = "dewatering", *, site: dict[str, Any] | None = None, set_code: str = "",
           choices: dict[str, Any] | None = None) -> HandoverJob:  # fmt: skip
    """The job of a story; `site` and `set_code` change it."""
    result = json.loads(sized(story))
    requirement = demo_fixtures.story(story)
    requirement = {**requirement, "site": {**requirement["site"], **(site or {})}}
    option = result["recommendation"]
    return handover_job(
        requirement=requirement,
        result=result,
        option=option,
        set_=fleet()[set_code or option["sets"][0]["code"]],
        choices=choices or {},
    )


def job_with(*facts: str) -> HandoverJob:
    """A job of which just these facts hold, its words those of dewatering."""
    return HandoverJob(frozenset(facts), job_of().words)
