"""Building a quote: from the message that asked for it to the offer."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import QuerySet

from intake.desk.services.opening import case_open
from intake.events.services import event_record
from intake.models import CaseFinding, FindingState, HireRequest, Status
from intake.outbox.services import effect_once, message_failed, message_start, outbox_put
from intake.prepared import A_KEY, A_MOMENT, ANOTHER_MOMENT, Prepared, PreparedUpdate, related_put
from intake.prepared_rows import PreparedInsert
from intake.requests.selectors import ANSWERS, LAST_RUN
from intake.requests.status import request_move
from intake.webhooks.services import webhook_emit
from quotes.building.errors import BuildReferred
from quotes.building.moves import offer_open, quote_move
from quotes.building.steps import LAST_STEP, STEPS
from quotes.models import BuildStep, Quote, QuoteState

TOPIC = "quotes.build_quote"
LOCKED = Prepared(lambda pk: HireRequest.objects.select_for_update().filter(pk=pk), A_KEY)
REVISIONS = Prepared(
    lambda request_id: Quote.objects.filter(request_id=request_id).values_list(
        "message_id", "revision"
    ),
    A_KEY,
)
BEGUN = PreparedInsert(Quote)
OURS = {one.name for one in Quote._meta.fields} - {"message_id", "choices", "reason"}
TO_DO = PreparedInsert(
    BuildStep, "quote_id", "position", "name", "started_at", "finished_at", "note"
)
TICK = PreparedUpdate(
    lambda quote_id, name, started, finished: (
        BuildStep.objects.filter(quote_id=quote_id, name=name, finished_at=None),
        {"started_at": started, "finished_at": finished},
    ),
    A_KEY,
    "a step",
    A_MOMENT,
    ANOTHER_MOMENT,
)
Clock = Callable[[], datetime]


@dataclass(frozen=True, slots=True)
class Begun:
    """A quote in hand, and the steps it still wants."""

    quote: Quote
    left: tuple[str, ...]


def quote_build(
    *, message_id: UUID, request_id: int, run_number: int, extra: dict[str, Any], clock: Clock
) -> bool:
    """Build the quote a message asks for; say whether this delivery finished it.

    1. Count the start, so that a message that costs worker after worker is set aside.
    2. Find or make the quote of this message, then do the steps not yet done, each committed.
       One quote in hand goes through them all: what a step needs is read once.
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
    begun = quote_begin(
        message_id=message_id,
        request_id=request_id,
        run_number=run_number,
        extra=extra,
        now=clock(),
    )
    if begun is None:
        return _finish(message_id, lambda: None, clock)
    quote = begun.quote
    try:
        for name in begun.left:
            quote = step_do(quote=quote, name=name, clock=clock)
    except BuildReferred as refusal:
        referred = refusal
        return _finish(message_id, lambda: quote_refer(quote.pk, referred, now=clock()), clock)
    return _finish(message_id, lambda: quote_offer(quote, now=clock()), clock)


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
) -> Begun | None:
    """The quote of a message, made at its first delivery; none where the request has moved on."""
    (request,) = LOCKED.rows(request_id)
    related_put(request, "answers", ANSWERS.rows(request.pk))
    revisions = dict(REVISIONS.rows(request.pk))
    if message_id in revisions:
        return _gone_on_with(message_id, request)
    run = LAST_RUN.first(request.pk)
    if request.status != Status.PRICING or run is None or run.number != run_number:
        return None
    quote = Quote(
        request=request,
        revision=max(revisions.values(), default=0) + 1,
        message_id=message_id,
        run=run,
        choices=extra.get("choices") or first_choices(request),
        reason=extra.get("reason", ""),
        created_at=now,
    )
    quote.clean_fields(exclude=OURS)  # under the lock, the database holds the rest
    BEGUN.row(quote)
    TO_DO.rows(
        (quote.pk, position, name, None, None, "")
        for position, name in enumerate((*STEPS, LAST_STEP))
    )
    return Begun(quote, tuple(STEPS))


def first_choices(request: HireRequest) -> dict[str, Any]:
    """What the customer's answers already choose: who brings the set."""
    tows = any(one.key == "delivery" and one.value == "tow" for one in request.answers.all())
    return {"delivery": "customer" if tows else "owner"}


def _gone_on_with(message_id: UUID, request: HireRequest) -> Begun | None:
    """A half-built quote, unless its request was withdrawn or sent again in the meantime."""
    quote = _quotes().get(message_id=message_id)
    if quote.state != QuoteState.BUILDING:
        return None
    if request.status != Status.PRICING or quote.run != request.runs.latest():
        quote_move(quote_id=quote.pk, origin=QuoteState.BUILDING, target=QuoteState.SUPERSEDED)
        return None
    left = quote.build_steps.filter(finished_at=None, name__in=STEPS).values_list("name", flat=True)
    return Begun(quote, tuple(left))


def _quotes() -> QuerySet[Quote]:
    """Quotes with what every step needs."""
    return Quote.objects.select_related("request__organisation", "run", "branch", "card")


def step_do(*, quote: Quote, name: str, clock: Clock) -> Quote:
    """Do one step and return the quote as it now stands.

    What the step writes and its tick are one transaction. Where another worker has ticked it
    first nothing is written, and the quote is read as that one left it.
    """
    began_at = clock()
    write = STEPS[name](quote, began_at)
    with transaction.atomic():
        if not TICK.update(quote.pk, name, began_at, clock()):
            return _quotes().get(pk=quote.pk)
        write()
    return quote


def quote_offer(quote: Quote, *, now: datetime) -> None:
    """Make the offer: the newest revision replaces the one before; the customer gets a mail."""
    if quote.revision > 1:
        earlier = Quote.objects.filter(request=quote.request, state=QuoteState.OFFERED)
        earlier.update(state=QuoteState.SUPERSEDED)
    offer_open(quote_id=quote.pk, now=now)
    request_move(request_id=quote.request_id, origin=Status.PRICING, target=Status.QUOTED)
    TICK.update(quote.pk, LAST_STEP, now, now)
    event_record(
        kind="quote_offered",
        now=now,
        actor="system",
        request=quote.request,
        subject=quote.number,
        total=str(quote.total),
    )
    outbox_put(topic="quotes.mail_offer", payload={"quote_id": quote.pk}, queue="mail", now=now)
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
