"""A rep's word on a plan: this set goes there, that one does not, this need may be served."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import F

from intake.events.services import event_record
from quotes.emergency.planning.errors import ChoiceRefused, EventIsClosed, NothingToClear
from quotes.emergency.planning.selectors import OPEN
from quotes.models import (
    PARTS_FROM_UTILITY,
    ChoiceKind,
    EventState,
    Need,
    PlanChoice,
    TransferEquipment,
    Unit,
)

KIND_WORDS = {ChoiceKind.PIN: "pinned", ChoiceKind.FORBID: "ruled out"}


@transaction.atomic
def choice_make(
    *, need_id: int, unit: str, kind: str, reason: str, actor: User, now: datetime
) -> PlanChoice:
    """Pin a unit to a need, or keep it from it; the next plan heeds it.

    A pin never comes before a check: only a type that passes every check of the need is taken.
    """
    need = _open_need(need_id)
    found = Unit.objects.select_related("set_type").filter(number=unit.strip().upper()).first()
    if found is None:
        raise ChoiceRefused(f"There is no set with the number {unit!r}.")
    if not reason.strip():
        raise ChoiceRefused("Give the reason; others read it when they plan.")
    if kind == ChoiceKind.PIN:
        _refuse_pin(need, found)
    standing = PlanChoice.objects.filter(need=need, active=True)
    replaced = standing.filter(unit=found) | (
        standing.filter(kind=ChoiceKind.PIN) if kind == ChoiceKind.PIN else standing.none()
    )
    replaced.update(active=False)
    made = PlanChoice(
        event=need.event, need=need, unit=found, kind=kind, by=actor, at=now, reason=reason.strip()
    )
    made.full_clean(exclude=["event", "need", "unit", "by"])
    made.save(force_insert=True)
    event_record(
        kind="emergency_choice",
        now=now,
        actor=actor,
        subject=need.name,
        unit=found.number,
        choice=KIND_WORDS[ChoiceKind(kind)],
        reason=made.reason,
    )
    return made


def _open_need(need_id: int) -> Need:
    need = Need.objects.select_related("event").select_for_update(of=("self",)).get(pk=need_id)
    if need.event is None or need.event.state != EventState.OPEN:
        raise EventIsClosed
    if need.state not in OPEN:
        raise ChoiceRefused(f"{need.name} is {need.get_state_display()}; no plan changes it.")
    return need


def _refuse_pin(need: Need, unit: Unit) -> None:
    code = unit.set_type.code
    if not any(o["set_code"] == code and o.get("count", 1) == 1 for o in need.options):
        raise ChoiceRefused(
            f"One {code} does not pass every check at {need.name}; it cannot be pinned there."
        )
    elsewhere = PlanChoice.objects.filter(
        unit=unit, kind=ChoiceKind.PIN, active=True, need__state__in=OPEN
    ).exclude(need=need)
    other = elsewhere.select_related("need").first()
    if other is not None:
        raise ChoiceRefused(f"{unit.number} is pinned to {other.need.name} already.")


@transaction.atomic
def choice_end(*, choice_id: int, actor: User, now: datetime) -> None:
    """Take a pin or a ban back; twice changes nothing."""
    choice = PlanChoice.objects.select_related("need", "unit").get(pk=choice_id)
    if PlanChoice.objects.filter(pk=choice_id, active=True).update(active=False):
        event_record(
            kind="emergency_choice_ended",
            now=now,
            actor=actor,
            subject=choice.need.name,
            unit=choice.unit.number,
        )


@transaction.atomic
def need_clear(
    *, need_id: int, reason: str, transfer_equipment: str = "", actor: User, now: datetime
) -> None:
    """Say that a person looked: from now on plans may serve the need.

    ``transfer_equipment`` is what the person found; empty where it was known. Never where nothing
    parts the building from the utility: that is not a matter of judgement.
    """
    need = Need.objects.select_for_update(of=("self",)).get(pk=need_id)
    if not need.waits_for_person:
        raise NothingToClear
    if not reason.strip():
        raise ChoiceRefused("Say what was settled, and with whom.")
    found = transfer_equipment or need.transfer_equipment
    _refuse_backfeed(need, found)
    Need.objects.filter(pk=need_id).update(
        transfer_equipment=found,
        person_cleared_by=actor,
        person_cleared_at=now,
        version=F("version") + 1,
    )
    event_record(
        kind="need_cleared", now=now, actor=actor, subject=need.name, reason=reason.strip()
    )


def _refuse_backfeed(need: Need, found: str) -> None:
    if found == TransferEquipment.NONE:
        raise ChoiceRefused(
            f"Nothing parts {need.name} from the utility. Power sent back kills line workers: "
            "have transfer equipment put in, choose it here, then clear the need."
        )
    if found not in PARTS_FROM_UTILITY:
        raise ChoiceRefused(
            f"It is not known what parts {need.name} from the utility. Ask, choose it here, then "
            "clear the need."
        )
