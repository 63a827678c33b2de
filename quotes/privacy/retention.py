"""What is not kept for ever: how long by setting, a daily sweep that may run any number of times.

The periods are the owner's to choose with counsel; those of the settings are common practice, no
source. A period of 0 days keeps for ever.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from axes.models import AccessAttempt, AccessFailureLog, AccessLog
from django.conf import settings
from django.db import transaction
from django.db.models import Exists, Max, OuterRef, Q, QuerySet

from intake.models import Event, HireRequest, RequestPhoto, Status, WebhookDelivery
from quotes.models import Order, OrderState, SignOffPhoto
from quotes.privacy.erase import photos_delete, request_erase

AT_ONCE = 200
MANY_AT_ONCE = 5_000  # of what is small and has no files
ACTOR = "system"
OVER = (Status.DECLINED, Status.WITHDRAWN, Status.EXPIRED)


@dataclass(frozen=True, slots=True)
class Swept:
    """How many of each kind a sweep took away."""

    drafts: int
    closed: int
    orders: int
    photos: int
    sign_ins: int
    deliveries: int


def sweep(*, now: datetime) -> Swept:
    """Take away whatever has been kept for long enough; a batch of each kind at a time."""
    return Swept(
        drafts=drafts_delete(now=now),
        closed=erase_all(closed_requests(now=now), now=now),
        orders=erase_all(finished_orders(now=now), now=now),
        photos=photos_expire(now=now),
        sign_ins=sign_ins_delete(now=now),
        deliveries=deliveries_delete(now=now),
    )


def before(now: datetime, days: int) -> datetime | None:
    """The moment before which a thing is too old, or none where it is kept for ever."""
    return now - timedelta(days=days) if days else None


@transaction.atomic
def drafts_delete(*, now: datetime) -> int:
    """Delete drafts that nobody has touched: nothing was sent, nothing promised."""
    limit = before(now, settings.KEEP_DRAFTS_DAYS)
    if limit is None:
        return 0
    old = HireRequest.objects.filter(status=Status.DRAFT, submitted_at=None, updated_at__lt=limit)
    drafts = list(old.order_by("updated_at")[:AT_ONCE])
    photos_delete(RequestPhoto.objects.filter(request__in=drafts), "image")
    Event._base_manager.filter(request__in=drafts).delete()
    HireRequest.objects.filter(pk__in=[draft.pk for draft in drafts], status=Status.DRAFT).delete()
    return len(drafts)


def quiet_since(limit: datetime) -> QuerySet[HireRequest]:
    """Requests about which nothing happened since, and whose people are not erased yet."""
    erased = Event.objects.filter(request=OuterRef("pk"), kind="person_erased")
    told = HireRequest.objects.filter(~Exists(erased)).annotate(last=Max("events__at"))
    return told.filter(Q(last__lt=limit) | Q(last=None, updated_at__lt=limit)).order_by("pk")


def closed_requests(*, now: datetime) -> Iterable[HireRequest]:
    """Requests that came to nothing, long ago."""
    limit = before(now, settings.KEEP_CLOSED_DAYS)
    if limit is None:
        return ()
    return quiet_since(limit).filter(status__in=OVER, order=None)[:AT_ONCE]


def finished_orders(*, now: datetime) -> Iterable[HireRequest]:
    """Requests whose order is over and whose papers need not be kept any longer."""
    limit = before(now, settings.KEEP_ORDERS_DAYS)
    if limit is None:
        return ()
    over = Q(order__state=OrderState.CANCELLED) | Q(order__statement__made_at__lt=limit)
    return quiet_since(limit).filter(over)[:AT_ONCE]


def erase_all(requests: Iterable[HireRequest], *, now: datetime) -> int:
    """Erase request by request, each in a transaction of its own."""
    found = list(requests)
    for request in found:
        request_erase(request=request, actor=ACTOR, now=now)
    return len(found)


@transaction.atomic
def photos_expire(*, now: datetime) -> int:
    """Delete photos of what is over; of an order that is still settled, not one."""
    limit = before(now, settings.KEEP_PHOTOS_DAYS)
    if limit is None:
        return 0
    over = Q(request__status__in=OVER) | Q(request__order__statement__made_at__lt=limit)
    plates = RequestPhoto.objects.filter(over, added_at__lt=limit)
    done = Order.objects.filter(statement__made_at__lt=limit)
    signed = SignOffPhoto.objects.filter(sign_off__out_unit__order__in=done)
    return sum(_first_deleted(rows) for rows in (plates, signed))


def _first_deleted(rows: QuerySet[RequestPhoto] | QuerySet[SignOffPhoto]) -> int:
    pks = list(rows.values_list("pk", flat=True)[:AT_ONCE])
    photos_delete(rows.model._base_manager.filter(pk__in=pks), "image")
    return len(pks)


def sign_ins_delete(*, now: datetime) -> int:
    """Delete the log of who signed in from where."""
    limit = before(now, settings.KEEP_SIGN_INS_DAYS)
    if limit is None:
        return 0
    logs = (AccessAttempt, AccessFailureLog, AccessLog)
    return sum(log.objects.filter(attempt_time__lt=limit).delete()[0] for log in logs)


@transaction.atomic
def deliveries_delete(*, now: datetime) -> int:
    """Delete what other systems were told, or could not be told, long ago."""
    limit = before(now, settings.KEEP_DELIVERIES_DAYS)
    if limit is None:
        return 0
    ended = Q(delivered_at__lt=limit) | Q(given_up_at__lt=limit)
    rows = WebhookDelivery.objects.filter(ended, created_at__lt=limit).order_by("created_at")
    pks = list(rows.values_list("pk", flat=True)[:MANY_AT_ONCE])
    return WebhookDelivery.objects.filter(ended, pk__in=pks).delete()[0]
