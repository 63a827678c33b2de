"""`setwright audit` on an emergency: silent on a sound plan, and finds each planted fault."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta

import pytest

from quotes.audit.emergency import INVARIANTS
from quotes.management.commands.audit import breaches
from quotes.models import (
    Booking,
    Delivery,
    EmergencyEvent,
    EmergencyPlan,
    Need,
    NeedState,
    PlanState,
    Unit,
)
from tests.quotes.cast import NOW


@pytest.fixture
def served(company: None) -> Need:
    """A need that the plan in force sends a set to."""
    event = EmergencyEvent.objects.create(code="STORM-1", name="Ice storm", opened_at=NOW)
    need = Need.objects.create(
        event=event, key="WELL-3", name="Well house 3", facility_kind="water", rank=2,
        rank_reason="published rank", need_by=NOW, contact_name="Nia Demo", night_phone="-",
        state=NeedState.PROMISED, state_at=NOW, accepted_at=NOW,
    )  # fmt: skip
    unit = Unit.objects.order_by("pk")[0]
    plan = EmergencyPlan.objects.create(
        event=event, number=1, made_at=NOW, state=PlanState.IN_FORCE, in_force_at=NOW
    )
    booking = Booking.objects.create(
        unit=unit, need=need, starts_on=date(2027, 5, 10), ends_on=date(2027, 5, 20),
        free_on=date(2027, 5, 22), made_at=NOW,
    )  # fmt: skip
    delivery = Delivery.objects.create(
        plan=plan, unit=unit, branch=unit.branch, depart_at=NOW, booking=booking,
        arrive_at=NOW + timedelta(hours=2), distance_km="40",
    )  # fmt: skip
    delivery.needs.add(need)
    return need


def found() -> set[str]:
    return {breach.code for breach in breaches(now=NOW)}


def test_a_sound_plan_has_no_breach(served: Need) -> None:
    assert found() == set()


def test_a_set_under_way_by_a_plan_of_before_is_found(served: Need) -> None:
    EmergencyPlan.objects.update(state=PlanState.SUPERSEDED)
    assert found() == {"promised_without_set"}


def doubted() -> None:
    Need.objects.update(needs_person=True, person_reason="life safety")


def plan_lost() -> None:
    Delivery.objects.all().delete()


def hold_cancelled() -> None:
    Booking.objects.update(cancelled_at=NOW)


def other_unit_held() -> None:
    Booking.objects.update(unit=Unit.objects.order_by("-pk")[0])


def withdrawn() -> None:
    Need.objects.update(state=NeedState.WITHDRAWN)
    EmergencyPlan.objects.update(state=PlanState.SUPERSEDED)


PLANTED: list[tuple[str, Callable[[], None]]] = [
    ("served_unseen", doubted),
    ("promised_without_set", plan_lost),
    ("promised_without_set", hold_cancelled),
    ("sent_without_booking", hold_cancelled),
    ("sent_without_booking", other_unit_held),
    ("held_for_nobody", withdrawn),
]


@pytest.mark.parametrize(("code", "plant"), PLANTED, ids=[f"{c} {p.__name__}" for c, p in PLANTED])
def test_a_planted_fault_is_found_by_its_name(
    code: str, plant: Callable[[], None], served: Need
) -> None:
    plant()
    assert code in found()


def test_every_promise_has_a_planted_fault() -> None:
    assert {code for code, _plant in PLANTED} == {one.code for one in INVARIANTS}
