"""Calling the duty rep: rows written with the need, sent by a worker right after."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db.models import F

from intake.events.services import event_record
from intake.outbox.services import outbox_put
from intake.webhooks.services import webhook_emit
from quotes.emergency.paging.selectors import page_addresses
from quotes.models import CallStep, Need, Page, PageKind

MAIL_TOPIC = "quotes.mail_page"
URGENT = "emergency"
WHOM: dict[int, str] = {CallStep.PASSED: "the duty again", CallStep.NEXT: "the next person"}


def need_page(
    *, need: Need, now: datetime, also: tuple[int, ...] = (), step: int = CallStep.FIRST
) -> list[Page]:
    """Call the duty rep about a need, inside the caller's transaction; later the next person.

    ``also`` are needs that came with the same press of a button, or whose call back is overdue as
    this one's is: one call tells of all of them. A need that is called out once more, as when it
    becomes life safety, keeps one row for each call and whom it goes to.
    """
    branch = need.request.branch_code if need.request else ""
    addresses = page_addresses(branch_code=branch, now=now, step=step)
    pages = [_page(need, step, PageKind.MAIL, one, now) for one in addresses]
    for page in pages:
        payload: dict[str, Any] = {"page_id": page.pk, "also": list(also)}
        outbox_put(topic=MAIL_TOPIC, payload=payload, queue=URGENT, now=now)
    pages += _webhooks(need, also, step, now)
    targets = [page.target for page in pages]
    for one in [need, *Need.objects.filter(pk__in=also).select_related("request")]:
        _recorded(one, step, targets, now)
    return pages


def _recorded(need: Need, step: int, targets: list[str], now: datetime) -> None:
    told: dict[str, Any] = {
        "now": now, "actor": "system", "request": need.request, "subject": need.name[:120],
        "targets": targets,
    }  # fmt: skip
    if step == CallStep.FIRST:
        event_record(kind="duty_paged", **told)
        return
    assert need.call_back_by is not None
    promised = need.call_back_by.isoformat(timespec="minutes")
    event_record(kind="call_back_overdue", whom=WHOM[step], promised_at=promised, **told)


def _webhooks(need: Need, also: tuple[int, ...], step: int, now: datetime) -> list[Page]:
    """The same call to programs; it names no person, and who wants more asks for it."""
    told = {
        "reference": need.request.reference if need.request else "",
        "need": need.key,
        "facility_kind": need.facility_kind,
        "rank": need.rank,
        "need_by": need.need_by.isoformat(),
        "call_back_by": need.call_back_by.isoformat() if need.call_back_by else "",
        "call": CallStep(step).name.lower(),
        "needs_person": need.needs_person,
        "needs": 1 + len(also),
    }
    deliveries = webhook_emit(kind="emergency.requested", payload=told, now=now)
    return [_page(need, step, PageKind.WEBHOOK, f"{one.endpoint}"[:254], now) for one in deliveries]


def _page(need: Need, step: int, kind: PageKind, target: str, now: datetime) -> Page:
    found, _made = Page.objects.get_or_create(
        need=need, step=step, kind=kind, target=target, defaults={"created_at": now}
    )
    return found


def page_sent(*, page_id: int, now: datetime) -> None:
    """A call went out."""
    Page.objects.filter(pk=page_id).update(sent_at=now, attempts=F("attempts") + 1)


def page_tried(*, page_id: int) -> None:
    """A call could not be sent; it is tried again."""
    Page.objects.filter(pk=page_id).update(attempts=F("attempts") + 1)
