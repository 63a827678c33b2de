"""The case page as plain records: answers left, findings right, and what may be done."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.conf import settings
from django.contrib.auth.models import User
from django.utils import timezone
from django.utils.module_loading import import_string
from django.utils.safestring import SafeString
from django.utils.translation import get_language

from intake.desk.answerlines import AnswerPane, AnswerRow, Photos
from intake.desk.difference import Changed, difference
from intake.desk.findingcards import FindingCard, finding_card, in_order
from intake.desk.rows import day_short
from intake.desk.services.deciding import release_missing
from intake.desk.services.holding import name_of
from intake.desk.sizingpane import SizingPane, sizing_pane
from intake.desk.words import against_promise, full_name
from intake.events.kinds import sentence
from intake.markup import filled_each
from intake.models import (
    Answer,
    Case,
    CaseFinding,
    CaseQuestion,
    CaseState,
    Event,
    HireRequest,
    RequestLoad,
    RequestPhoto,
    SizingRun,
)
from intake.prepared import A_KEY, Prepared
from intake.questions.answers import Given
from intake.requests.selectors import LOADS

HISTORY = 12
ANSWERS = Prepared(
    lambda request: Answer.objects.filter(request=request).values_list(*AnswerRow._fields), A_KEY
)
FINDINGS = Prepared(lambda case: CaseFinding.objects.filter(case=case), A_KEY)
ASKED = Prepared(lambda case: CaseQuestion.objects.filter(case=case), A_KEY)
PHOTOS = Prepared(lambda request: RequestPhoto.objects.filter(request=request), A_KEY)
RUNS = Prepared(
    lambda request: (
        SizingRun.objects.filter(request=request)
        .only("number", "result", "made_by", "made_at")
        .order_by("-number")[:2]
    ),
    A_KEY,
)
EVENTS = Prepared(
    lambda request: Event.objects.filter(request=request).order_by("-id")[:HISTORY], A_KEY
)
AN_EVENT = '<li><time datetime="{}">{}</time> {}</li>'


@dataclass(frozen=True, slots=True)
class CasePage:
    """Everything the case page shows; built by eight queries, whatever the case.

    ``works`` says if the reader works cases, ``acts`` if this one is open to them as well.
    """

    case: Case
    reference: str
    works: bool
    acts: bool
    state: str
    starts: str
    answers: SafeString
    cards: tuple[FindingCard, ...]
    settled_cards: tuple[FindingCard, ...]
    sizing: SizingPane | None
    sized_at: str
    changes: tuple[Changed, ...]
    changed_by: str
    history: SafeString
    missing: str
    contact: Mapping[str, str]
    promise: str
    mine: bool
    held: str
    waiting_for: str
    seen: int
    notes: tuple[Mapping[str, Any], ...]

    @property
    def closed(self) -> bool:
        return self.case.closed_at is not None


def case_page(case: Case, user: User, now: datetime) -> CasePage:
    """Read one case for the page."""
    answers, loads, photos = request_read(case.request)
    findings, questions = FINDINGS.rows(case.pk), ASKED.rows(case.pk)
    runs, events = RUNS.rows(case.request_id), EVENTS.rows(case.request_id)
    holder = case.owner_id if case.state == CaseState.CLAIMED else None
    names = names_read(user, holder, findings, [*answers, *loads], runs)
    cards = [finding_card(row, loads, questions, photos, names) for row in in_order(findings)]
    held = names[holder] if holder else ""
    works = user.has_perm("intake.work_case")
    acts = works and case.closed_at is None
    pane = AnswerPane(case.request, findings, photos, names, changeable=acts)
    language = get_language()
    return CasePage(
        case=case,
        reference=case.request.reference,
        works=works,
        acts=acts,
        state=str(CaseState(case.state).label),
        starts=day_short(case.starts_on, language) if case.starts_on else "",
        answers=pane.html(answers, loads),
        cards=tuple(card for card in cards if card.open or card.second_wanted),
        settled_cards=tuple(card for card in cards if not (card.open or card.second_wanted)),
        sizing=sizing_pane(runs[0]) if runs else None,
        sized_at=_moment(timezone.localtime(runs[0].made_at), language) if runs else "",
        changes=tuple(difference(runs[1].result, runs[0].result)) if len(runs) > 1 else (),
        changed_by=names[runs[0].made_by_id] if runs and runs[0].made_by_id else "the customer",
        history=filled_each(AN_EVENT, (_event_line(one, language) for one in events)),
        missing=release_missing(findings, runs[0] if runs else None, user),
        contact={a.key: str(a.value) for a in answers if a.value and a.key in CONTACT},
        promise="" if case.closed_at else against_promise(case.promised_at, now),
        mine=holder == user.pk,
        held=held,
        waiting_for=next((q.words for q in reversed(questions) if q.answered_at is None), ""),
        seen=events[0].pk if events else 0,
        notes=tuple(notes_of(case, now)),
    )


def names_read(
    user: User,
    holder: int | None,
    findings: Iterable[CaseFinding],
    confirmed: Iterable[AnswerRow | RequestLoad],
    runs: Iterable[SizingRun],
) -> dict[int, str]:
    """The names of the people of a case by key; a query only where others than the reader are."""
    keys = {holder, *(run.made_by_id for run in runs)}
    keys.update(row.confirmed_by_id for row in confirmed)
    for finding in findings:
        keys.update((finding.settled_by_id, finding.second_by_id))
    others = {key for key in keys if key is not None and key != user.pk}
    names = {user.pk: name_of(user)}
    if others:
        found = User.objects.filter(pk__in=others)
        for pk, *name in found.values_list("pk", "first_name", "last_name", "username"):
            names[pk] = full_name(*name)
    return names


def _event_line(event: Event, language: str | None) -> tuple[str, str, str]:
    """When an event was, for a machine and for a reader, and its sentence."""
    at = timezone.localtime(event.at)
    return at.isoformat(), _moment(at, language), sentence(event)


def _moment(at: datetime, language: str | None) -> str:
    return f"{day_short(at.date(), language, 'M j')} {at:%H:%M}"


def notes_of(case: Case, now: datetime) -> Iterable[Mapping[str, Any]]:
    """What lies above the intake says at the head of a case: ``words``, ``late``, ``link``."""
    for path in settings.SETWRIGHT_CASE_NOTES:
        yield from import_string(path)(case=case, now=now)


def request_read(request: HireRequest) -> tuple[list[AnswerRow], list[RequestLoad], Photos]:
    """Read a request's answers, equipment and photos once, for all that ask for them later."""
    answers = [AnswerRow(*row) for row in ANSWERS.rows(request.pk)]
    loads = LOADS.rows(request.pk)
    request.kept_given = {row.key: Given(row.value, row.unsure) for row in answers}
    request.kept_loads = loads
    photos: Photos = {}
    for photo in PHOTOS.rows(request.pk):
        photos[photo.load_id] = (*photos.get(photo.load_id, ()), photo)
    return answers, loads, photos


CONTACT = ("contact_name", "company", "email", "phone", "site_contact")
