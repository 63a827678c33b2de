"""Sizing a need after it was taken. It takes seconds, so no transaction is open meanwhile."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Exists, F, IntegerField, OuterRef, Q
from django.db.models.fields.json import KT
from django.db.models.functions import Cast

from intake.desk.services.findings import findings_reconcile
from intake.events.services import event_record
from intake.models import NOT_CLOSED, Case, OutboxMessage, SizingRun
from intake.outbox.services import outbox_put
from intake.requests.doubts import intake_doubts
from intake.requests.errors import AnswerRefused
from intake.requests.requirement import requirement_document
from intake.requests.runs import fleet_for, run_keep, sized
from intake.requests.selectors import answers_of
from quotes.emergency.express.asked import is_life_safety
from quotes.emergency.fitness import Fitness, fitness
from quotes.emergency.needs import SIZE_QUEUE, SIZE_TOPIC, UNREADABLE, person_reasons
from quotes.emergency.sites.sizing import site_priorities
from quotes.models import OPEN_NEED_STATES, PARTS_FROM_UTILITY, Need, TransferEquipment
from sizing.errors import DocumentRefused
from sizing.fleet import GeneratorSet

Document = dict[str, Any]
LATE = timedelta(minutes=2)
A_SWEEP = 100


def need_size(*, need_id: int, now: datetime) -> bool:
    """Size a need as its requirement stands; says whether it could be read."""
    need = Need.objects.select_related("request", "site").get(pk=need_id)
    if need.request is not None:
        need_follow(need=need)
    fleet = fleet_for(need.requirement)
    try:
        found = fitness(
            need.requirement, fleet, priorities=_priorities(need), partial=_partial(need)
        )
        result = sized(need.request, need.requirement, fleet) if need.request else None
    except (DocumentRefused, AnswerRefused):
        _keep_unread(need, now)
        return False
    _keep(need, found, result, fleet, now)
    return True


def _keep_unread(need: Need, now: datetime) -> None:
    reasons = person_reasons(
        life_safety=need.life_safety, transfer_equipment=need.transfer_equipment
    )
    need_reopen(need)
    Need.objects.filter(pk=need.pk).update(
        options=[], sized_at=now, needs_person=True, version=F("version") + 1,
        person_reason="\n".join([*reasons, UNREADABLE]),
    )  # fmt: skip


def need_follow(*, need: Need) -> None:
    """Take over what a rep put right in the request since: the requirement and what feeds it."""
    request = need.request_or_fail
    answers = answers_of(request)
    said = answers.given("transfer_equipment")
    if _found_since(need):
        pass  # who cleared it knew better than the answer before
    elif said.value == "no":
        need.transfer_equipment = TransferEquipment.NONE
    elif said.value == "yes" and need.transfer_equipment not in PARTS_FROM_UTILITY:
        need.transfer_equipment = TransferEquipment.SOME
    elif said.unsure:
        need.transfer_equipment = TransferEquipment.UNSURE
    doubts = {doubt["code"] for doubt in intake_doubts(answers)}
    need.life_safety = is_life_safety(need.rank, need.facility_kind) or "life_safety" in doubts
    need.requirement = requirement_document(request)


def _found_since(need: Need) -> bool:
    """Whether a person cleared the need after the answer on transfer equipment was given."""
    if need.person_cleared_at is None:
        return False
    answers = need.request_or_fail.answers.filter(key="transfer_equipment")
    return not answers.filter(updated_at__gt=need.person_cleared_at).exists()


def _priorities(need: Need) -> list[int]:
    """Of the site's loads, as long as nobody changed which there are."""
    priorities = site_priorities(need.site) if need.site else []
    return priorities if len(priorities) == len(need.requirement["loads"]) else []


def _partial(need: Need) -> bool:
    return need.site is not None and need.site.partial_load_ok and bool(_priorities(need))


@transaction.atomic
def _keep(
    need: Need,
    found: Fitness,
    result: Document | None,
    fleet: tuple[GeneratorSet, ...],
    now: datetime,
) -> None:
    fitness_keep(need=need, found=found, now=now)
    if need.request is not None and result is not None:
        _case_told(need, result, fleet, now)


def fitness_keep(*, need: Need, found: Fitness, now: datetime) -> None:
    """Put what serves a need beside it, and who must look.

    What a person cleared stays cleared, unless it turns out that nothing parts the building from
    the utility: then it waits for a person again. A rank changed while it was sized counts.
    """
    rank = Need.objects.select_for_update().values_list("rank", flat=True).get(pk=need.pk)
    if rank != need.rank:
        need.life_safety = need.life_safety or is_life_safety(rank, need.facility_kind)
    reasons = person_reasons(
        life_safety=need.life_safety, transfer_equipment=need.transfer_equipment
    )
    reasons += [one for one in found.person if one not in reasons]
    need_reopen(need)
    Need.objects.filter(pk=need.pk).update(
        requirement=need.requirement,
        transfer_equipment=need.transfer_equipment,
        life_safety=need.life_safety,
        options=found.options,
        findings=found.findings,
        sized_at=now,
        sized_against=found.against,
        needs_person=bool(reasons),
        person_reason="\n".join(reasons),
        version=F("version") + 1,
    )


def need_reopen(need: Need) -> None:
    """Let a cleared need wait again where nothing is known to part it from the utility."""
    if need.transfer_equipment not in PARTS_FROM_UTILITY:
        Need.objects.filter(pk=need.pk).update(person_cleared_by=None, person_cleared_at=None)


def _case_told(
    need: Need, result: Document, fleet: tuple[GeneratorSet, ...], now: datetime
) -> None:
    """A second run with the set in it, and the case in step, as long as a rep still has it."""
    request = need.request_or_fail
    case = Case.objects.select_for_update().filter(request=request, state__in=NOT_CLOSED).first()
    if case is None or request.runs.count() != 1:
        return  # a rep was faster and sized it with better answers
    run = run_keep(request=request, document=need.requirement, fleet=fleet, result=result, now=now)
    findings_reconcile(case=case, run=run)
    Case.objects.filter(pk=case.pk).update(version=F("version") + 1)
    event_record(
        kind="sizing_run", now=now, actor="system", request=request,
        number=run.number, outcome=run.outcome,
    )  # fmt: skip


@transaction.atomic
def needs_size_due(*, now: datetime) -> int:
    """Hand over open needs never sized, or whose request has a newer run than that; a batch."""
    waiting = OutboxMessage.objects.filter(topic=SIZE_TOPIC, done_at=None, parked_at=None).annotate(
        need=Cast(KT("payload__need_id"), IntegerField())
    )
    newer = SizingRun.objects.filter(request=OuterRef("request"), made_at__gt=OuterRef("sized_at"))
    due = (
        Need.objects.filter(state__in=OPEN_NEED_STATES)
        .filter(Exists(newer) | Q(sized_at=None, accepted_at__lt=now - LATE))
        .filter(~Exists(waiting.filter(need=OuterRef("pk"))))
        .order_by("pk")
    )
    keys = list(due.values_list("pk", flat=True)[:A_SWEEP])
    for key in keys:
        outbox_put(topic=SIZE_TOPIC, payload={"need_id": key}, queue=SIZE_QUEUE, now=now)
    return len(keys)
