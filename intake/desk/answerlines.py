"""The left of the case page: the answers by step, and the equipment row by row.

A case has dozens of lines, so each is written here and not by a template, node by node.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final, NamedTuple

from django.utils.safestring import SafeString, mark_safe

from intake.addresses import address
from intake.desk.subjects import LOAD_QUESTIONS, Subject
from intake.desk.subjects import written as answer_written
from intake.desk.words import short
from intake.markup import NO_MARKUP, filled, filled_each
from intake.models import CaseFinding, FindingState, HireRequest, RequestLoad, RequestPhoto
from intake.questions.answers import NOTHING, Given
from intake.questions.equipment import equipment_questions
from intake.requests.equipment import load_given
from intake.requests.selectors import answers_of
from intake.steps.catalogue import STEPS

Photos = dict[int | None, tuple[RequestPhoto, ...]]
A_KEY: Final = "any-key"  # stands in an address where the key of an answer goes
LOAD_LINES: Final = (
    "nameplate", "quantity", "starting", "float_switch", "restarts_itself",
    "starts_after", "never_with",
)  # fmt: skip
MOTOR_LINES: Final = {"starting", "float_switch", "restarts_itself"}

NOT_SURE: Final = SafeString('<span class="badge badge-warn">not sure</span>')
UNSURE_MARK: Final = SafeString(" answer-unsure")
LINE: Final = """
    <div id="a-{key}" class="answer-line{mark}">
      <dt>{label}</dt>
      <dd>{value}
        {confirmed}
        {assumed}</dd>
      [change]
    </div>
  """
CHANGE: Final = (
    '<dd class="answer-acts"><a href="{where}" hx-get="{where}" hx-target="#a-{key}"'
    ' hx-swap="outerHTML">Change<span class="hidden-words"> {label}</span></a></dd>'
)
TO_READ, TO_CHANGE = LINE.replace("[change]", ""), LINE.replace("[change]", CHANGE)
TO_SAY: Final = (
    '<a id="a-{key}" href="{where}" hx-get="{where}" hx-target="closest p"'
    ' hx-swap="afterend">{label}</a>'
)
SET_BY: Final = '<span class="small quiet">set by {}: {}</span>'
CONFIRMED_BY: Final = '<span class="small quiet">confirmed by {}</span>'
GROUP: Final = """
<div class="answer-group">
  <h3>{title}</h3>
  {photos}
  <dl class="answer-lines">
  {said}
  </dl>
  {unsaid}
</div>
"""
UNSAID: Final = '<p class="unsaid small quiet">Not said: {}</p>'
PHOTOS: Final = '<p class="photos">{}</p>{}'
PHOTO: Final = (
    '<a href="{}" target="_blank" rel="noopener"><img src="{}" width="96" height="72"'
    ' loading="lazy" alt="Photo {} of {}; opens large"></a>'
)
READING: Final = (
    '<p class="small quiet">Read by machine from photo {}, not confirmed:'
    ' <span class="example">{}</span></p>'
)
ASSUMED: Final = '<span class="assumed">{}</span>'


class AnswerRow(NamedTuple):
    """What the page reads of an answer."""

    key: str
    value: Any
    unsure: bool
    confirmed_by_id: int | None
    reason: str


@dataclass(frozen=True, slots=True)
class AnswerLine:
    """One answer on the left: as given, what was assumed, who confirmed it.

    ``where`` is the address at which it is changed, empty for who may only read.
    """

    key: str
    label: str
    value: str
    unsure: bool
    said: bool
    where: str
    assumed: str = ""
    confirmed: str = ""
    reason: str = ""

    @property
    def html(self) -> SafeString:
        """The line as the page has it."""
        return filled(
            TO_CHANGE if self.where else TO_READ,
            key=self.key,
            label=self.label,
            where=self.where or NO_MARKUP,
            mark=UNSURE_MARK if self.unsure else NO_MARKUP,
            value=NOT_SURE if self.unsure else self.value,
            confirmed=self._confirmed if self.confirmed else NO_MARKUP,
            assumed=filled(ASSUMED, self.assumed) if self.assumed else NO_MARKUP,
        )

    @property
    def _confirmed(self) -> SafeString:
        if self.reason:
            return filled(SET_BY, self.confirmed, self.reason)
        return filled(CONFIRMED_BY, self.confirmed)

    @property
    def to_say(self) -> SafeString:
        """The name of a question that was passed by; a rep may still answer it."""
        label = self.label.lower()
        if not self.where:
            return filled("{}", label)
        return filled(TO_SAY, key=self.key, where=self.where, label=label)


class AnswerPane:
    """The answers of one request for one reader; ``changeable`` where the reader may change them.

    ``names`` are those of people by key, ``assumed`` the words of findings by what they are about.
    """

    def __init__(
        self,
        request: HireRequest,
        findings: Iterable[CaseFinding],
        photos: Photos,
        names: Mapping[int, str],
        *,
        changeable: bool,
    ) -> None:
        self.request, self.photos, self.names = request, photos, names
        self.assumed: Mapping[str, str] = {
            one.subject: one.detail for one in findings if one.state != FindingState.GONE
        }
        self.where = address("desk:answer", request.reference, A_KEY) if changeable else ""

    def html(self, answers: Iterable[AnswerRow], loads: Iterable[RequestLoad]) -> SafeString:
        """The answers that apply, by step, and the equipment row by row, as the page has them."""
        rows = {answer.key: answer for answer in answers}
        given = answers_of(self.request)
        groups = []
        for step in STEPS:
            if step.key == "equipment":
                groups += [self.load_group(load, n) for n, load in enumerate(loads)]
            elif step.applies(given) and step.questions:
                lines = [
                    self.line(Subject(q), given.given(q.key), rows.get(q.key))
                    for q in step.asked(given)
                ]
                groups.append(group(str(step.title), lines))
        return mark_safe("".join(groups))  # noqa: S308 - each is filled

    def line(self, subject: Subject, given: Given, row: AnswerRow | None) -> AnswerLine:
        question, said = subject.question, not given.empty
        assumed = self.assumed.get(question.path) or self.assumed.get(question.key) or ""
        return AnswerLine(
            key=question.key,
            label=short(question.key, question.label),
            value=answer_written(subject, given) if said else "not said",
            unsure=given.unsure,
            said=said,
            where=self.where.replace(A_KEY, question.key),
            assumed=assumed if given.unsure or not said else "",
            confirmed=self._name(row.confirmed_by_id) if row else "",
            reason=row.reason if row else "",
        )

    def load_group(self, load: RequestLoad, index: int) -> SafeString:
        """One row of equipment: what applies to its kind, and what was said beyond."""
        asked = {question.key for question in equipment_questions(load.kind)}
        given = load_given(load)
        lines = [
            self.load_line(load, index, key, given.get(key, NOTHING))
            for key in LOAD_LINES
            if key in asked or (key not in MOTOR_LINES and not given.get(key, NOTHING).empty)
        ]
        title = f"{load.quantity} × {load.name}"
        return group(title, lines, self._photos(title, self.photos.get(load.pk, ())))

    def load_line(self, load: RequestLoad, index: int, key: str, given: Given) -> AnswerLine:
        subject = Subject(LOAD_QUESTIONS[key], load)
        value = answer_written(subject, given) if not given.empty else "not said"
        if key == "nameplate" and load.typical_code and not load.nameplate:
            value = f"no plate; typical equipment: {load.typical_code.replace('_', ' ')}"
        plate = key == "nameplate"
        return AnswerLine(
            key=subject.key,
            label=short(key, subject.question.label),
            value=value,
            unsure=given.unsure,
            said=value != "not said",
            where=self.where.replace(A_KEY, subject.key),
            assumed=self.assumed.get(f"loads[{index}].{key}", ""),
            confirmed=self._name(load.confirmed_by_id) if plate else "",
            reason=load.reason if plate else "",
        )

    def _photos(self, title: str, photos: tuple[RequestPhoto, ...]) -> SafeString:
        """The photos of a row of equipment, and what was read from them."""
        if not photos:
            return NO_MARKUP
        at = self.request.reference
        shown = [
            (address("desk:photo_look", at, one.pk), address("desk:photo", at, one.pk), n, title)
            for n, one in enumerate(photos, 1)
        ]
        read = [(n, (one.suggestion or {}).get("text")) for n, one in enumerate(photos, 1)]
        readings = filled_each(READING, [(n, text) for n, text in read if text])
        return filled(PHOTOS, filled_each(PHOTO, shown), readings)

    def _name(self, person: int | None) -> str:
        return self.names[person] if person else ""


def group(title: str, lines: list[AnswerLine], photos: SafeString = NO_MARKUP) -> SafeString:
    """The answers of a step, or of one row of equipment: those said, then those passed by."""
    said = "".join(line.html for line in lines if line.said)
    unsaid = ", ".join(line.to_say for line in lines if not line.said)
    return filled(
        GROUP,
        title=title,
        photos=photos,
        said=mark_safe(said),  # noqa: S308 - each is filled
        unsaid=filled(UNSAID, mark_safe(unsaid)) if unsaid else NO_MARKUP,  # noqa: S308
    )
