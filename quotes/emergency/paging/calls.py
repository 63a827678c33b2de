"""A promised call back: recorded when it was made; called out again while it was not."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from django.conf import settings
from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Exists, F, OuterRef, QuerySet

from intake.events.services import event_record
from intake.requests.errors import ServiceRefusal
from quotes.emergency.paging.services import need_page
from quotes.models import OPEN_NEED_STATES, CallEscalation, CallStep, Need

A_SWEEP = 200


class NoCallOwed(ServiceRefusal):
    code = "no_call_owed"
    sentence = "The call back is on record already. Your note was not kept; look at it below."


def calls_owed() -> QuerySet[Need]:
    """Open needs whose promised call back nobody has recorded, the earliest promise first."""
    owed = Need.objects.filter(
        state__in=OPEN_NEED_STATES, called_back_at=None, call_back_by__isnull=False
    )
    return owed.order_by("call_back_by", "rank", "pk")


def with_same_phone(need: Need) -> QuerySet[Need]:
    """Other needs whose call back is owed to the same number: one call settles them all."""
    return calls_owed().filter(night_phone=need.night_phone).exclude(pk=need.pk)


@transaction.atomic
def call_back_record(
    *, need_id: int, note: str, with_others: bool = False, actor: User, now: datetime
) -> int:
    """Record that somebody called back; returns of how many needs. Nobody is called again then.

    Pressed twice by the same person it is one call; recorded by another before, it is refused.
    """
    need = Need.objects.select_for_update(of=("self",)).get(pk=need_id)
    if need.called_back_at is not None and need.called_back_by_id == actor.pk:
        return 0
    wanted = [need_id]
    if with_others:
        wanted += with_same_phone(need).values_list("pk", flat=True)
    owed = calls_owed().filter(pk__in=wanted).select_related("request")
    told = list(owed.select_for_update(of=("self",)))
    if need_id not in {one.pk for one in told}:
        raise NoCallOwed
    Need.objects.filter(pk__in=[one.pk for one in told]).update(
        called_back_at=now, called_back_by=actor, call_note=note, version=F("version") + 1
    )
    for one in told:
        event_record(
            kind="called_back", now=now, actor=actor, request=one.request,
            subject=one.name[:120], note=note or "no note",
        )  # fmt: skip
    return len(told)


def calls_escalate(*, now: datetime) -> int:
    """Call again about each promise that passed; returns how many needs were called out.

    At the promised time the duty is called again, ``EMERGENCY_CALL_NEXT_MINUTES`` later the next
    person. Each step is one row a need, so a sweep that comes twice or late calls once.
    """
    later = timedelta(minutes=settings.EMERGENCY_CALL_NEXT_MINUTES)
    return _step_taken(CallStep.PASSED, now, now) + _step_taken(CallStep.NEXT, now - later, now)


@transaction.atomic
def _step_taken(step: CallStep, passed_by: datetime, now: datetime) -> int:
    taken = CallEscalation.objects.filter(need=OuterRef("pk"), step=step)
    due = calls_owed().filter(~Exists(taken), call_back_by__lte=passed_by)
    needs = due.select_related("request").select_for_update(of=("self",))[:A_SWEEP]
    fresh = [need for need in needs if _claimed(need, step, now)]
    for group in by_branch(fresh):
        need_page(need=group[0], also=tuple(one.pk for one in group[1:]), step=step, now=now)
    return len(fresh)


def _claimed(need: Need, step: CallStep, now: datetime) -> bool:
    assert need.call_back_by is not None
    _row, made = CallEscalation.objects.get_or_create(
        need=need, step=step, defaults={"promised_at": need.call_back_by, "made_at": now}
    )
    return made


def by_branch(needs: Iterable[Need]) -> list[list[Need]]:
    """One call tells of all that one branch's duty answers for."""
    groups: dict[str, list[Need]] = {}
    for need in needs:
        groups.setdefault(need.request.branch_code if need.request else "", []).append(need)
    return list(groups.values())
