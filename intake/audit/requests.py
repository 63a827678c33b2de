"""Promises about requests, cases, and the messages to the workers."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from django.conf import settings
from django.db.models import Count, Exists, IntegerField, OuterRef, Q, QuerySet, Subquery

from intake.audit.breach import Breach, Invariant
from intake.models import (
    NOT_CLOSED,
    Case,
    Event,
    HireRequest,
    IdempotencyRecord,
    InboxMark,
    OutboxMessage,
    RequestPhoto,
    SizingRun,
    Status,
)

NEVER_SENT = (Status.DRAFT, Status.WITHDRAWN)
SENT_KINDS = ("request_submitted", "need_accepted")  # by the pages, or in an emergency
SLACK = timedelta(seconds=60)


def sent() -> QuerySet[HireRequest]:
    """Requests that a customer sent."""
    return HireRequest.objects.filter(submitted_at__isnull=False)


def unsized(now: datetime) -> Iterator[Breach]:
    runs = SizingRun.objects.filter(request=OuterRef("pk"))
    for request in sent().filter(~Exists(runs)):
        yield Breach("sent_without_run", request.reference, "It was sent, but no sizing is stored.")


def unrecorded(now: datetime) -> Iterator[Breach]:
    events = Event.objects.filter(request=OuterRef("pk"), kind__in=SENT_KINDS)
    through_page = sent().exclude(status__in=NEVER_SENT)
    for request in through_page.annotate(times=_counted(events)).exclude(times=1):
        times = request.times or 0
        yield Breach("sent_once", request.reference, f"The record has it sent {times} times.")


def _counted(events: QuerySet[Event]) -> Subquery:
    total = events.order_by().values("request").annotate(n=Count("pk")).values("n")
    return Subquery(total, output_field=IntegerField())


def in_review_without_case(now: datetime) -> Iterator[Breach]:
    waiting = Case.objects.filter(request=OuterRef("pk"), state__in=NOT_CLOSED)
    for request in HireRequest.objects.filter(~Exists(waiting), status=Status.IN_REVIEW):
        detail = "It waits for a rep, but is not on the desk."
        yield Breach("in_review_without_case", request.reference, detail)


def case_left_open(now: datetime) -> Iterator[Breach]:
    open_cases = Case.objects.filter(state__in=NOT_CLOSED).select_related("request")
    for case in open_cases.exclude(request__status=Status.IN_REVIEW):
        detail = f"Its case is open, but the request is {case.request.get_status_display()}."
        yield Breach("case_left_open", case.request.reference, detail)


def pricing_without_message(now: datetime) -> Iterator[Breach]:
    """A request that is being priced has a message that is still to be done, or was parked."""
    messages = OutboxMessage.objects.filter(topic="quotes.build_quote", done_at=None)
    asked = set(messages.values_list("payload__request_id", flat=True))
    for request in HireRequest.objects.filter(status=Status.PRICING):
        if request.pk not in asked:
            detail = "It is being priced, but no message asks a worker for its quote."
            yield Breach("pricing_without_message", request.reference, detail)


def late_after() -> timedelta:
    """How long what is due may wait for a worker, and be lost once with it."""
    return timedelta(seconds=2 * settings.TASK_TIME_LIMIT_S) + SLACK


def message_stuck(now: datetime) -> Iterator[Breach]:
    """A message is done, or still within its time, or set aside with its reason."""
    limit = late_after()
    open_messages = OutboxMessage.objects.filter(done_at=None, parked_at=None)
    late = Q(published_at__lt=now - limit) | Q(published_at=None, due_at__lt=now - limit)
    for message in open_messages.filter(late):
        what = "published" if message.published_at else "due"
        yield Breach("message_stuck", str(message), f"It was {what} long ago and is not done.")


def message_parked(now: datetime) -> Iterator[Breach]:
    for message in OutboxMessage.objects.filter(done_at=None, parked_at__isnull=False):
        yield Breach("message_parked", str(message), f"It was set aside: {message.last_error}")


def done_without_mark(now: datetime) -> Iterator[Breach]:
    """What counts as done left the mark that keeps it from being done again."""
    marks = InboxMark.objects.filter(message_id=OuterRef("pk"))
    for message in OutboxMessage.objects.filter(~Exists(marks), done_at__isnull=False):
        yield Breach("done_without_mark", str(message), "It counts as done, but left no mark.")


def photo_without_file(now: datetime) -> Iterator[Breach]:
    """Every photo has its file, whole."""
    for photo in RequestPhoto.objects.select_related("request").iterator(chunk_size=500):
        if _bytes_of(photo) != photo.bytes_kept:
            detail = f"The file {photo.image.name} is missing or not whole."
            yield Breach("photo_without_file", photo.request.reference, detail)


def _bytes_of(photo: RequestPhoto) -> int:
    try:
        return int(photo.image.size)
    except OSError:
        return -1


def answer_half_kept(now: datetime) -> Iterator[Breach]:
    for record in IdempotencyRecord.objects.filter(status=None).select_related("client"):
        yield Breach("answer_half_kept", str(record), "A creating call has a key but no answer.")


INVARIANTS = (
    Invariant("sent_without_run", "every sent request was sized", unsized),
    Invariant("sent_once", "every sent request is recorded as sent once", unrecorded),
    Invariant(
        "in_review_without_case", "who waits for a rep is on the desk", in_review_without_case
    ),
    Invariant("case_left_open", "only who waits for a rep is on the desk", case_left_open),
    Invariant(
        "pricing_without_message", "what is being priced has its message", pricing_without_message
    ),
    Invariant("message_stuck", "every message is done or within its time", message_stuck),
    Invariant("message_parked", "no message is set aside", message_parked),
    Invariant("done_without_mark", "what is done left its mark", done_without_mark),
    Invariant("photo_without_file", "every photo has its file", photo_without_file),
    Invariant("answer_half_kept", "every kept key has its answer", answer_half_kept),
)
