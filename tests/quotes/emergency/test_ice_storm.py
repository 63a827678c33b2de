"""The story: 23 sites, 14 sets, three re-plans; what must hold of every plan of the night."""

from __future__ import annotations

from datetime import timedelta
from io import StringIO

import pytest
import time_machine
from django.core.management import CommandError, call_command
from django.utils import timezone

from quotes.audit.orders import booked_twice
from quotes.demo.ice_storm import storm_begins, storm_document
from quotes.emergency.planning import making
from quotes.models import Booking, EmergencyPlan, Need, PlanChoice, PlanState
from tests.quotes.cast import NOW


def test_the_file_is_what_its_name_says() -> None:
    document = storm_document()
    assert (len(document["sites"]), len(document["units"])) == (23, 14)
    assert (len(document["yards"]), len(document["acts"])) == (2, 4)  # a plan and three re-plans


def test_the_story_is_over_when_it_is_told() -> None:
    for hours in range(0, 48, 5):
        now = NOW + timedelta(hours=hours)
        begins = storm_begins(now=now, zone="America/New_York")
        assert begins.hour == 18
        assert timedelta(hours=14) <= now - begins < timedelta(hours=38)


@pytest.mark.django_db
def test_the_night_as_it_went(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(making, "MORE_SECONDS", 2.0)
    with time_machine.travel(NOW, tick=False):
        told = StringIO()
        call_command("ice_storm", stdout=told)
        with pytest.raises(CommandError, match="already"):
            call_command("ice_storm")
        _told_why(told.getvalue())
        for plan in EmergencyPlan.objects.all():
            _sound(plan)
        assert list(booked_twice(timezone.now())) == []
    states = list(EmergencyPlan.objects.values_list("state", flat=True))
    assert states == [*[PlanState.SUPERSEDED] * 3, PlanState.IN_FORCE]
    _heeded()


def _told_why(told: str) -> None:
    """Every plan, every change with its reason, everything that is still without."""
    assert told.count("\nPlan ") == 4
    assert told.count("Against the plan before") == 3
    assert "TC-205 is in the workshop: No start, starter motor." in told
    assert "Dialysis clinic: nothing -> " in told
    assert "TC-304 is pinned: It floods a basement first." in told
    assert "which needs it no more." in told
    assert told.count("waits for a person: Grange hall warming room.") == 4
    assert "Nearest alternative:" in told


def _sound(plan: EmergencyPlan) -> None:
    """No set twice, none beyond the checks, none to whom a person has not cleared."""
    assert plan.proven
    result = plan.result
    sent = [unit for one in (*result["kept"], *result["deliveries"]) for unit in one["units"]]
    assert len(sent) == len(set(sent)) <= 14
    options = {
        str(need.pk): {(o["set_code"], o["count"]) for o in need.options}
        for need in Need.objects.all()
    }
    for one in result["deliveries"]:
        for key in one["needs"]:
            joint = len(one["needs"]) > 1
            assert joint or (one["set_code"], len(one["units"])) in options[key]
    changes = [one for one in result["changes"] if one["kind"] != "same"]
    assert all(one["why"] for one in changes)
    life_saving = [site["key"] for site in plan.problem["sites"] if site["rank"] == 1]
    assert not set(life_saving) & {one["need"] for one in result["unmet"]}


def _heeded() -> None:
    """What people decided held: the pin, the ban, and what nothing parts from the utility."""
    held = set(Booking.objects.values_list("need__key", "unit__number"))
    for choice in PlanChoice.objects.select_related("need", "unit"):
        pair = (choice.need.key, choice.unit.number)
        assert (pair in held) == (choice.kind == "pin")
    assert PlanChoice.objects.count() == 2
    assert "grange" not in {key for key, _ in held}
    assert Need.objects.get(key="grange").state == "needed"
