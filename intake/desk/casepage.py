"""The case page as plain records: answers left, findings right, and what may be done."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django.conf import settings
from django.contrib.auth.models import User
from django.utils.module_loading import import_string

from intake.desk.choosing import Choice, choice_of
from intake.desk.difference import Changed, difference, failing, figure, sets_written
from intake.desk.services.deciding import release_missing
from intake.desk.services.holding import name_of
from intake.desk.services.settling import BY_HAND, NEVER_ACCEPTED, awaits_second, decided
from intake.desk.subjects import LOAD_QUESTIONS, Subject, subject_of
from intake.desk.subjects import written as answer_written
from intake.desk.words import against_promise, reason_title, short
from intake.events.kinds import sentence
from intake.models import (
    Answer,
    Case,
    CaseFinding,
    CaseQuestion,
    CaseState,
    Event,
    FindingState,
    HireRequest,
    RequestLoad,
    RequestPhoto,
    SizingRun,
)
from intake.prepared import A_KEY, Prepared, people_read
from intake.questions.answers import Given
from intake.questions.equipment import equipment_questions
from intake.requests.equipment import load_given
from intake.requests.selectors import answers_of, rows_read_once
from intake.steps.catalogue import STEPS

HISTORY = 12
FINDINGS = Prepared(lambda case: CaseFinding.objects.filter(case=case), A_KEY)
ASKED = Prepared(lambda case: CaseQuestion.objects.filter(case=case), A_KEY)
PHOTOS = Prepared(lambda request: RequestPhoto.objects.filter(request=request), A_KEY)
RUNS = Prepared(
    lambda request: SizingRun.objects.filter(request=request).order_by("-number")[:2], A_KEY
)
EVENTS = Prepared(
    lambda request: Event.objects.filter(request=request).order_by("-id")[:HISTORY], A_KEY
)
Photos = dict[int | None, tuple[RequestPhoto, ...]]
FIRST = {"needs_person": 0, "warning": 1, "note": 2}


@dataclass(frozen=True, slots=True)
class AnswerLine:
    """One answer on the left: as given, what was assumed, who confirmed it."""

    key: str
    label: str
    value: str
    unsure: bool
    said: bool
    assumed: str = ""
    confirmed: str = ""
    reason: str = ""


@dataclass(frozen=True, slots=True)
class AnswerGroup:
    title: str
    lines: tuple[AnswerLine, ...]
    photos: tuple[Any, ...] = ()

    @property
    def said(self) -> list[AnswerLine]:
        return [line for line in self.lines if line.said]

    @property
    def unsaid(self) -> list[AnswerLine]:
        """Questions passed by: a rep may still answer them."""
        return [line for line in self.lines if not line.said]


@dataclass(frozen=True, slots=True)
class FindingCard:
    """One finding on the right, with everything that can be done about it."""

    row: CaseFinding
    title: str
    where: str
    evidence: tuple[tuple[str, str], ...]
    answer_key: str
    may_accept: bool
    open: bool
    second_wanted: bool
    settled: str
    by_hand: bool
    photos: tuple[Any, ...] = ()
    asked: tuple[Any, ...] = ()


@dataclass(frozen=True, slots=True)
class SizingPane:
    """The sizing that counts, in the figures a rep looks for."""

    run: SizingRun
    sets: str
    why: str
    figures: tuple[tuple[str, str], ...]
    checks: tuple[Mapping[str, Any], ...]
    failing: tuple[str, ...]
    accessories: tuple[Mapping[str, Any], ...]
    alternatives: tuple[tuple[str, str], ...]
    choice: Choice


@dataclass(frozen=True, slots=True)
class CasePage:
    """Everything the case page shows; built by eight queries, whatever the case."""

    case: Case
    groups: tuple[AnswerGroup, ...]
    cards: tuple[FindingCard, ...]
    settled_cards: tuple[FindingCard, ...]
    sizing: SizingPane | None
    changes: tuple[Changed, ...]
    changed_by: str
    history: tuple[tuple[Event, str], ...]
    missing: str
    contact: Mapping[str, str]
    promise: str
    mine: bool
    held: str
    waiting_for: str
    seen: int = 0
    extra: Mapping[str, Any] = field(default_factory=dict)
    notes: tuple[Mapping[str, Any], ...] = ()

    @property
    def closed(self) -> bool:
        return self.case.closed_at is not None

    @property
    def undecided(self) -> int:
        return sum(1 for card in self.cards if card.row.severity == "needs_person")


def case_page(case: Case, user: User, now: datetime) -> CasePage:
    """Read one case for the page."""
    answers, loads, photos = request_read(case.request)
    findings, questions = FINDINGS.rows(case.pk), ASKED.rows(case.pk)
    runs, events = RUNS.rows(case.request_id), EVENTS.rows(case.request_id)
    people_read(findings, "settled_by", "second_by")
    cards = [finding_card(row, loads, questions, photos) for row in in_order(findings)]
    held = name_of(case.owner) if case.owner and case.state == CaseState.CLAIMED else ""
    return CasePage(
        case=case,
        groups=answer_groups(case, answers, loads, findings, photos),
        cards=tuple(card for card in cards if card.open or card.second_wanted),
        settled_cards=tuple(card for card in cards if not (card.open or card.second_wanted)),
        sizing=sizing_pane(runs[0]) if runs else None,
        changes=tuple(difference(runs[1].result, runs[0].result)) if len(runs) > 1 else (),
        changed_by=name_of(runs[0].made_by) if runs and runs[0].made_by else "the customer",
        history=tuple((event, sentence(event)) for event in events),
        missing=release_missing(findings, runs[0] if runs else None, user),
        contact={a.key: str(a.value) for a in answers if a.value and a.key in CONTACT},
        promise="" if case.closed_at else against_promise(case.promised_at, now),
        mine=held != "" and case.owner_id == user.pk,
        held=held,
        waiting_for=next((q.words for q in reversed(questions) if q.answered_at is None), ""),
        seen=events[0].pk if events else 0,
        notes=tuple(notes_of(case, now)),
    )


def notes_of(case: Case, now: datetime) -> Iterable[Mapping[str, Any]]:
    """What lies above the intake says at the head of a case: ``words``, ``late``, ``link``."""
    for path in settings.SETWRIGHT_CASE_NOTES:
        yield from import_string(path)(case=case, now=now)


def request_read(request: HireRequest) -> tuple[list[Answer], list[RequestLoad], Photos]:
    """Read a request's answers, equipment and photos once, for all that ask for them later."""
    rows_read_once(request)
    answers, loads = request.kept_answers or [], request.kept_loads or []
    people_read([*answers, *loads], "confirmed_by")
    photos: Photos = {}
    for photo in PHOTOS.rows(request.pk):
        photos[photo.load_id] = (*photos.get(photo.load_id, ()), photo)
    return answers, loads, photos


CONTACT = ("contact_name", "company", "email", "phone", "site_contact")


# ---- left: answers -------------------------------------------------------------------------


def answer_groups(
    case: Case,
    answers: list[Answer],
    loads: list[RequestLoad],
    findings: list[CaseFinding],
    photos: Photos,
) -> tuple[AnswerGroup, ...]:
    """The answers that apply, by step, and the equipment row by row."""
    rows = {answer.key: answer for answer in answers}
    assumed = {f.subject: f.detail for f in findings if f.state != FindingState.GONE}
    given = answers_of(case.request)
    groups = []
    for step in STEPS:
        if step.key == "equipment":
            groups += [
                load_group(load, n, assumed, photos.get(load.pk, ()))
                for n, load in enumerate(loads)
            ]
        elif step.applies(given) and step.questions:
            lines = [answer_line(Subject(q), rows.get(q.key), assumed) for q in step.asked(given)]
            groups.append(AnswerGroup(str(step.title), tuple(lines)))
    return tuple(groups)


def answer_line(subject: Subject, row: Answer | None, assumed: Mapping[str, str]) -> AnswerLine:
    given = Given(row.value, row.unsure) if row else Given()
    question = subject.question
    unsure = given.unsure or given.empty
    return AnswerLine(
        key=subject.key,
        label=short(question.key, question.label),
        value=answer_written(subject, given) if not given.empty else "not said",
        unsure=given.unsure,
        said=not given.empty,
        assumed=(assumed.get(question.path) or assumed.get(question.key) or "") if unsure else "",
        confirmed=name_of(row.confirmed_by) if row and row.confirmed_by else "",
        reason=row.reason if row else "",
    )


LOAD_LINES = (
    "nameplate", "quantity", "starting", "float_switch", "restarts_itself",
    "starts_after", "never_with",
)  # fmt: skip
MOTOR_LINES = {"starting", "float_switch", "restarts_itself"}


def load_group(
    load: RequestLoad, index: int, assumed: Mapping[str, str], photos: tuple[RequestPhoto, ...]
) -> AnswerGroup:
    """One row of equipment: what applies to its kind, and what was said beyond."""
    asked = {question.key for question in equipment_questions(load.kind)}
    given = load_given(load)
    lines = [
        load_line(load, index, key, given.get(key, Given()), assumed)
        for key in LOAD_LINES
        if key in asked or (key not in MOTOR_LINES and not given.get(key, Given()).empty)
    ]
    title = f"{load.quantity} × {load.name}"
    return AnswerGroup(title, tuple(lines), photos)


def load_line(
    load: RequestLoad, index: int, key: str, given: Given, assumed: Mapping[str, str]
) -> AnswerLine:
    subject = Subject(LOAD_QUESTIONS[key], load)
    value = answer_written(subject, given) if not given.empty else "not said"
    if key == "nameplate" and load.typical_code and not load.nameplate:
        value = f"no plate; typical equipment: {load.typical_code.replace('_', ' ')}"
    return AnswerLine(
        key=subject.key,
        label=short(key, subject.question.label),
        value=value,
        unsure=given.unsure,
        said=value != "not said",
        assumed=assumed.get(f"loads[{index}].{key}", ""),
        confirmed=name_of(load.confirmed_by) if load.confirmed_by and key == "nameplate" else "",
        reason=load.reason if key == "nameplate" else "",
    )


# ---- right: findings -----------------------------------------------------------------------


def in_order(findings: Iterable[CaseFinding]) -> list[CaseFinding]:
    """The right question first: what needs a person, then warnings, then notes."""
    return sorted(findings, key=lambda f: (FIRST.get(f.severity, 3), _rank(f), f.pk))


def _rank(finding: CaseFinding) -> int:
    return int(finding.evidence.get("rank", 0)) if isinstance(finding.evidence, dict) else 0


def finding_card(
    row: CaseFinding, loads: list[RequestLoad], questions: list[CaseQuestion], photos: Photos
) -> FindingCard:
    subject = subject_of(row.subject, loads)
    is_open = row.severity == "needs_person" and row.state == FindingState.OPEN
    return FindingCard(
        row=row,
        title=reason_title(row.code),
        where=subject.title if subject else row.subject,
        evidence=tuple((_name(k), figure(v, "")) for k, v in row.evidence.items()),
        answer_key=subject.key if subject else "",
        may_accept=row.code not in NEVER_ACCEPTED,
        open=is_open,
        second_wanted=row.severity == "needs_person" and not is_open and not decided(row),
        settled=_settled(row),
        by_hand=row.state in BY_HAND,
        photos=photos.get(subject.load.pk, ()) if subject and subject.load else (),
        asked=tuple(question for question in questions if question.finding_id == row.pk),
    )


def _name(key: str) -> str:
    return key.replace("_", " ")


def _settled(row: CaseFinding) -> str:
    if row.state == FindingState.OPEN:
        return ""
    who = f" by {name_of(row.settled_by)}" if row.settled_by else ""
    second = f" and {name_of(row.second_by)}" if row.second_by else ""
    waits = ", waits for a second person" if awaits_second(row) else ""
    why = f": {row.reason}" if row.reason and row.state in BY_HAND else ""
    return f"{FindingState(row.state).label}{who}{second}{waits}{why}"


# ---- right: sizing -------------------------------------------------------------------------

FIGURES = (
    ("Supply", "supply", ""),
    ("Prime rating", "rated_kw", "kW"),
    ("Rating on site", "site_kw", "kW"),
    ("Load", "load_percent", "%"),
    ("Mean load", "mean_load_percent", "%"),
    ("Voltage dip", "voltage_dip_percent", "%"),
    ("Frequency dip", "frequency_dip_percent", "%"),
    ("Fuel a day", "fuel_l_per_day", "L"),
    ("One tank lasts", "autonomy_h", "h"),
    ("Sound", "sound_dba", "dBA"),
)
DEMAND_FIGURES = (
    ("Running", "running_kw", "kW"),
    ("Apparent", "running_kva", "kVA"),
    ("Largest start", "start_kva", "kVA"),
    ("Worst step", "worst_step", ""),
)


def sizing_pane(run: SizingRun) -> SizingPane:
    """The run that counts, ready for the page."""
    result = run.result
    chosen, demand = result.get("recommendation") or {}, result.get("demand") or {}
    numbers = [(n, figure(demand.get(k), u)) for n, k, u in DEMAND_FIGURES] + [
        (n, figure(chosen.get(k), u)) for n, k, u in FIGURES
    ]
    return SizingPane(
        run=run,
        sets=sets_written(result),
        why=str(chosen.get("why", "")),
        figures=tuple(pair for pair in numbers if pair[1] != "–"),
        checks=tuple(check_line(check) for check in chosen.get("checks", [])),
        failing=tuple(failing(result)),
        accessories=tuple(
            {**item, "title": reason_title(item["code"])} for item in chosen.get("accessories", [])
        ),
        alternatives=tuple(
            (sets_written({"recommendation": option}), str(option.get("why", "")))
            for option in result.get("alternatives", [])
        ),
        choice=choice_of(result),
    )


def check_line(check: Mapping[str, Any]) -> dict[str, Any]:
    unit = "" if check["unit"] == "-" else check["unit"]
    return {
        **check,
        "title": reason_title(check["name"]),
        "required": figure(check["required"], unit),
        "provided": figure(check["provided"], unit),
        "warns": not check["passed"] and not check.get("binding", True),
    }
