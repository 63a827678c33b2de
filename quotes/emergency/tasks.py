"""Tasks of the emergency part: sizing what was asked, calling the duty rep, letters to bodies."""

from __future__ import annotations

from datetime import date

from celery import current_task, shared_task
from django.utils import timezone

from intake.outbox.once import sends_once
from quotes.emergency.organisations.letters import link_letter, review_letter
from quotes.emergency.organisations.services import TOPIC as LINK_TOPIC
from quotes.emergency.paging.letters import page_letter
from quotes.emergency.paging.services import MAIL_TOPIC, page_sent, page_tried
from quotes.emergency.sites.services import REVIEW_TOPIC
from quotes.emergency.sites.sizing import SIZE_TOPIC as SIZE_SITE_TOPIC
from quotes.emergency.sites.sizing import site_size
from quotes.emergency.sizing_needs import need_size
from quotes.models import Page, PublicBody


def _id() -> str:
    return str(current_task.request.id)


@shared_task(name="quotes.size_need")
@sends_once("quotes.size_need")  # it takes seconds: no transaction may stay open meanwhile
def size_need(need_id: int) -> None:
    """Find what serves a need. A second delivery finds the same."""
    need_size(need_id=need_id, now=timezone.now())


@shared_task(name=SIZE_SITE_TOPIC)
@sends_once(SIZE_SITE_TOPIC)
def size_site(site_id: int) -> None:
    """Find what would serve a standing site."""
    site_size(site_id=site_id, now=timezone.now())


@shared_task(name=MAIL_TOPIC)
@sends_once(MAIL_TOPIC)
def mail_page(page_id: int, also: list[int] | None = None) -> None:
    """Call the duty rep by mail, unless what it is about was settled meanwhile."""
    page = Page.objects.select_related("need__request").get(pk=page_id)
    letter = page_letter(page, also=also or [], message_id=_id(), now=timezone.now())
    if letter is None:
        return
    try:
        letter.send()
    except OSError:
        page_tried(page_id=page_id)
        raise
    page_sent(page_id=page_id, now=timezone.now())


@shared_task(name=LINK_TOPIC)
@sends_once(LINK_TOPIC)
def mail_body_link(body_id: int) -> None:
    """Send a public body its link."""
    body = PublicBody.objects.select_related("organisation").get(pk=body_id)
    link_letter(body, message_id=_id()).send()


@shared_task(name=REVIEW_TOPIC)
@sends_once(REVIEW_TOPIC)
def mail_review(body_id: int, on: str) -> None:
    """Remind a public body of sites whose yearly review is due."""
    body = PublicBody.objects.select_related("organisation").get(pk=body_id)
    letter = review_letter(body, on=date.fromisoformat(on), message_id=_id())
    if letter is not None:
        letter.send()
