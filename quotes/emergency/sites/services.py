"""Keeping standing sites: saved, archived, reviewed, and asked for in an event."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import F, Q

from intake.desk.promise import company_zone
from intake.events.services import event_record
from intake.models import Organisation
from intake.outbox.services import outbox_put
from intake.requests.errors import ServiceRefusal, VersionConflict
from quotes.emergency.sites.sizing import SIZE_TOPIC
from quotes.models import OPEN_NEED_STATES, Need, PublicBody, StandingSite

REVIEW_TOPIC = "quotes.mail_review"
REVIEW_EVERY = timedelta(days=365)
REMIND_AGAIN = timedelta(days=30)
Fields = dict[str, Any]


class SiteInUse(ServiceRefusal):
    code = "site_in_use"
    status_code = 409
    sentence = "Power was asked for this site and is not over. Take it off the list after that."


def today_of(now: datetime) -> date:
    """The company's day."""
    return now.astimezone(company_zone()).date()


@transaction.atomic
def site_save(
    *,
    organisation: Organisation,
    fields: Fields,
    loads: Sequence[Fields] | None,
    now: datetime,
    site: StandingSite | None = None,
    version: int = 0,
) -> StandingSite:
    """Add a site or change one as it was seen; without ``loads`` its loads stay. It is sized anew.

    A change counts as a review: somebody has just looked at all of it.
    """
    if site is None:
        site = StandingSite(organisation=organisation, created_at=now)
    elif site.version != version:
        raise VersionConflict(version=site.version)
    else:
        _take_version(site)
    for name, value in fields.items():
        setattr(site, name, value)
    if loads is not None:
        site.loads = list(loads)
    site.updated_at, site.reviewed_on = now, today_of(now)
    site.review_due_on, site.reminded_on = site.reviewed_on + REVIEW_EVERY, None
    site.sized_against, site.sizing, site.options, site.findings = "", {}, [], []
    site.full_clean()
    site.save()
    outbox_put(topic=SIZE_TOPIC, payload={"site_id": site.pk}, now=now)
    event_record(kind="site_saved", now=now, actor=str(organisation)[:120], subject=site.key)
    return site


def _take_version(site: StandingSite) -> None:
    hit = StandingSite.objects.filter(pk=site.pk, version=site.version).update(
        version=F("version") + 1
    )
    if hit != 1:
        raise VersionConflict(version=site.version)
    site.version += 1


@transaction.atomic
def site_archive(*, site: StandingSite, now: datetime) -> None:
    """Take a site off the list; what was done with it stays on record.

    Not while power is on its way to it: who looks after it must find it there.
    """
    StandingSite.objects.select_for_update().get(pk=site.pk)  # nobody asks for it meanwhile
    if Need.objects.filter(site=site, state__in=OPEN_NEED_STATES).exists():
        raise SiteInUse
    StandingSite.objects.filter(pk=site.pk, archived_at=None).update(archived_at=now)
    actor = str(site.organisation)[:120]
    event_record(kind="site_archived", now=now, actor=actor, subject=site.key)


@transaction.atomic
def site_review(*, site: StandingSite, now: datetime) -> None:
    """Somebody looked through a site and found it unchanged."""
    today = today_of(now)
    StandingSite.objects.filter(pk=site.pk).update(
        reviewed_on=today, review_due_on=today + REVIEW_EVERY, reminded_on=None
    )
    actor = str(site.organisation)[:120]
    event_record(kind="site_reviewed", now=now, actor=actor, subject=site.key)


@transaction.atomic
def reviews_remind(*, now: datetime) -> int:
    """One letter a body about the sites whose year is over; again a month later."""
    today = today_of(now)
    due = StandingSite.objects.filter(archived_at=None, review_due_on__lte=today).filter(
        Q(reminded_on=None) | Q(reminded_on__lte=today - REMIND_AGAIN)
    )
    bodies = list(
        PublicBody.objects.filter(organisation__in=due.values("organisation")).order_by("pk")
    )
    for body in bodies:
        payload = {"body_id": body.pk, "on": today.isoformat()}
        outbox_put(topic=REVIEW_TOPIC, payload=payload, queue="mail", now=now)
    due.filter(organisation__in=[body.organisation_id for body in bodies]).update(reminded_on=today)
    return len(bodies)
