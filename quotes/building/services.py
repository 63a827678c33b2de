"""Building a quote: from the message that asked for it to the offer."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Max

from intake.desk.services.opening import case_open
from intake.events.services import event_record
from intake.models import CaseFinding, FindingState, HireRequest, Status
from intake.outbox.services import effect_once, message_failed, message_start, outbox_put
from intake.requests.status import request_move
from intake.webhooks.services import webhook_emit
from quotes.building.errors import BuildReferred
from quotes.building.moves import quote_move
from quotes.building.steps import LAST_STEP, STEPS
from quotes.models import BuildStep, Quote, QuoteState

TOPIC = "quotes.build_quote"
BUILT_FIELDS = (
    "branch", "card", "starts_on", "ends_on", "content", "net", "tax", "total", "deposit",
    "terms_version", "valid_until",
)  # fmt: skip
Clock = Callable[[], datetime]


def quote_build(
    *, message_id: UUID, request_id: int, run_number: int, extra: dict[str, Any], clock: Clock
) -> bool:
    """Build the quote a message asks for; say whether this delivery finished it.

    1. Count the start, so that a message that costs worker after worker is set aside.
    2. Find or make the quote of this message, then do the steps not yet done, each committed.
    3. Make the offer, or refer to a person, in one transaction with the message's mark.
    """
    if not message_start(message_id=message_id, handler=TOPIC, now=clock()):
        return False
    try:
        return _build(message_id, request_id, run_number, extra, clock)
    except Exception as error:
        message_failed(message_id=message_id, error=error, now=clock())
        raise


def _build(
    message_id: UUID, request_id: int, run_number: int, extra: dict[str, Any], clock: Clock
) -> bool:
    quote = quote_begin(
        message_id=message_id,
        request_id=request_id,
        run_number=run_number,
        extra=extra,
        now=clock(),
    )
    if quote is None:
        return _finish(message_id, lambda: None, clock)
    try:
        for name in STEPS:
            step_do(quote_id=quote.pk, name=name, clock=clock)
    except BuildReferred as refusal:
        referred = refusal
        return _finish(message_id, lambda: quote_refer(quote.pk, referred, now=clock()), clock)
    return _finish(message_id, lambda: quote_offer(quote.pk, now=clock()), clock)


def _finish(message_id: UUID, effect: Callable[[], object], clock: Clock) -> bool:
    with transaction.atomic():
        return effect_once(message_id=message_id, handler=TOPIC, effect=effect, clock=clock)


@transaction.atomic
def quote_begin(
    *,
    message_id: UUID,
    request_id: int,
    run_number: int,
    extra: dict[str, Any],
    now: datetime,
) -> Quote | None:
    """The quote of a message, made at its first delivery; none where the request has moved on."""
    request = HireRequest.objects.select_for_update().get(pk=request_id)
    found = Quote.objects.filter(message_id=message_id).first()
    if found is not None and found.state == QuoteState.BUILDING:
        return _still_wanted(found, request)
    if found is not None:
        return None
    run = request.runs.filter(number=run_number).first()
    if request.status != Status.PRICING or run is None or run != request.runs.latest():
        return None
    last = request.quotes.aggregate(last=Max("revision"))["last"] or 0
    quote = Quote(
        request=request,
        revision=last + 1,
        message_id=message_id,
        run=run,
        choices=extra.get("choices") or first_choices(request),
        reason=extra.get("reason", ""),
        created_at=now,
    )
    quote.full_clean(exclude=["request", "run"])
    quote.save(force_insert=True)
    names = [*STEPS, LAST_STEP]
    BuildStep.objects.bulk_create(
        BuildStep(quote=quote, position=position, name=name) for position, name in enumerate(names)
    )
    return quote


def first_choices(request: HireRequest) -> dict[str, Any]:
    """What the customer's answers already choose: who brings the set."""
    tows = request.answers.filter(key="delivery", value="tow").exists()
    return {"delivery": "customer" if tows else "owner"}


def _still_wanted(quote: Quote, request: HireRequest) -> Quote | None:
    """A half-built quote, unless its request was withdrawn or sent again in the meantime."""
    if request.status == Status.PRICING and quote.run == request.runs.latest():
        return quote
    quote_move(quote_id=quote.pk, origin=QuoteState.BUILDING, target=QuoteState.SUPERSEDED)
    return None


def step_do(*, quote_id: int, name: str, clock: Clock) -> None:
    """Do one step unless it is done; what it writes and its tick are one transaction."""
    unfinished = BuildStep.objects.filter(quote_id=quote_id, name=name, finished_at=None)
    if not unfinished.update(started_at=clock()):
        return
    quote = Quote.objects.select_related("request__organisation", "run", "branch", "card").get(
        pk=quote_id
    )
    write = STEPS[name](quote, clock())
    with transaction.atomic():
        if unfinished.update(finished_at=clock()):
            write()
            quote.save(update_fields=BUILT_FIELDS)


def quote_offer(quote_id: int, *, now: datetime) -> None:
    """Make the offer: the newest revision replaces the one before; the customer gets a mail."""
    quote = Quote.objects.select_related("request").get(pk=quote_id)
    earlier = Quote.objects.filter(request=quote.request, state=QuoteState.OFFERED)
    earlier.update(state=QuoteState.SUPERSEDED)
    quote_move(
        quote_id=quote_id, origin=QuoteState.BUILDING, target=QuoteState.OFFERED, offered_at=now
    )
    request_move(request_id=quote.request_id, origin=Status.PRICING, target=Status.QUOTED)
    BuildStep.objects.filter(quote=quote, name=LAST_STEP).update(started_at=now, finished_at=now)
    event_record(
        kind="quote_offered",
        now=now,
        actor="system",
        request=quote.request,
        subject=quote.number,
        total=str(quote.total),
    )
    outbox_put(topic="quotes.mail_offer", payload={"quote_id": quote_id}, queue="mail", now=now)
    payload = {
        "reference": quote.request.reference, "quote": quote.number, "revision": quote.revision,
    }  # fmt: skip
    webhook_emit(kind="quote.ready", payload=payload, now=now)


def quote_refer(quote_id: int, refusal: BuildReferred, *, now: datetime) -> None:
    """Give the request to a person, with what stopped the build as a finding of the case."""
    quote = Quote.objects.select_related("request", "run").get(pk=quote_id)
    quote_move(
        quote_id=quote_id,
        origin=QuoteState.BUILDING,
        target=QuoteState.REFERRED,
        reason=refusal.detail[:300],
    )
    request_move(request_id=quote.request_id, origin=Status.PRICING, target=Status.IN_REVIEW)
    event_record(
        kind="quote_referred",
        now=now,
        actor="system",
        request=quote.request,
        subject=quote.number,
        reason=refusal.detail,
    )
    request_refer(
        request=quote.request,
        run=quote.run,
        code=refusal.code,
        detail=refusal.detail,
        question=refusal.question,
        evidence=refusal.evidence,
        now=now,
    )


def request_refer(
    *,
    request: HireRequest,
    run: Any,
    code: str,
    detail: str,
    question: str = "",
    evidence: dict[str, Any] | None = None,
    now: datetime,
) -> None:
    """Open the request's case with a finding of quoting's own."""
    case = case_open(request=request, run=run, now=now)
    CaseFinding.objects.update_or_create(
        case=case,
        code=code,
        subject="quote",
        defaults={
            "run": run,
            "severity": "needs_person",
            "detail": detail,
            "question": question,
            "evidence": evidence or {},
            "state": FindingState.OPEN,
        },
    )
    type(case).objects.filter(pk=case.pk).update(reason=code)
