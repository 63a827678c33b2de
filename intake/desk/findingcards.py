"""The right of the case page: the findings, the question that counts first.

Most are settled and only read, so what each has is written here and not by a template, node by
node; the template goes on with what may be done about one.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from django.utils.safestring import SafeString

from intake.desk.answerlines import Photos
from intake.desk.difference import figure
from intake.desk.services.settling import BY_HAND, NEVER_ACCEPTED, awaits_second, decided
from intake.desk.subjects import subject_of
from intake.desk.words import reason_title
from intake.markup import A_FACT, NO_MARKUP, filled, filled_each
from intake.models import CaseFinding, CaseQuestion, FindingState, RequestLoad, RequestPhoto

FIRST: Final = {"needs_person": 0, "warning": 1, "note": 2}

HEAD: Final = """
<article class="finding finding-{severity}{mark}" id="f-{pk}">
  <h3>{title} <span class="quiet small">{where}</span>{two}</h3>
  <p>{detail}</p>
  {settled}"""
SETTLED_MARK: Final = SafeString(" finding-settled")
TWO_PEOPLE: Final = SafeString(' <span class="badge">two people</span>')
SETTLED: Final = '<p class="small">{}</p>'


@dataclass(frozen=True, slots=True)
class FindingCard:
    """One finding on the right, with everything that can be done about it."""

    row: CaseFinding
    pk: str
    title: str
    where: str
    evidence: tuple[tuple[str, str], ...]
    answer_key: str
    may_accept: bool
    open: bool
    second_wanted: bool
    settled: str
    by_hand: bool
    photos: tuple[RequestPhoto, ...] = ()
    asked: tuple[CaseQuestion, ...] = ()

    @property
    def only_read(self) -> bool:
        """Whether there is nothing beyond the head."""
        return not (self.open or self.second_wanted or self.by_hand or self.asked)

    @property
    def evidence_named(self) -> SafeString:
        return filled_each(A_FACT, self.evidence)

    @property
    def head(self) -> SafeString:
        """What every finding has, as the page has it; the article stays open."""
        row = self.row
        return filled(
            HEAD,
            severity=row.severity,
            mark=NO_MARKUP if self.open else SETTLED_MARK,
            pk=self.pk,
            title=self.title,
            where=self.where,
            two=TWO_PEOPLE if row.four_eyes else NO_MARKUP,
            detail=row.detail,
            settled=filled(SETTLED, self.settled) if self.settled else NO_MARKUP,
        )


def in_order(findings: Iterable[CaseFinding]) -> list[CaseFinding]:
    """The right question first: what needs a person, then warnings, then notes."""
    return sorted(findings, key=lambda f: (FIRST.get(f.severity, 3), _rank(f), f.pk))


def _rank(finding: CaseFinding) -> int:
    return int(finding.evidence.get("rank", 0)) if isinstance(finding.evidence, dict) else 0


def finding_card(
    row: CaseFinding,
    loads: list[RequestLoad],
    questions: list[CaseQuestion],
    photos: Photos,
    names: Mapping[int, str],
) -> FindingCard:
    """A finding as a card; ``names`` are those of people by key."""
    subject = subject_of(row.subject, loads)
    is_open = row.severity == "needs_person" and row.state == FindingState.OPEN
    return FindingCard(
        row=row,
        pk=str(row.pk),
        title=reason_title(row.code),
        where=subject.title if subject else row.subject,
        evidence=_evidence(row) if is_open else (),
        answer_key=subject.key if subject else "",
        may_accept=row.code not in NEVER_ACCEPTED,
        open=is_open,
        second_wanted=row.severity == "needs_person" and not is_open and not decided(row),
        settled=_settled(row, names),
        by_hand=row.state in BY_HAND,
        photos=photos.get(subject.load.pk, ()) if subject and subject.load else (),
        asked=tuple(question for question in questions if question.finding_id == row.pk),
    )


def _evidence(row: CaseFinding) -> tuple[tuple[str, str], ...]:
    return tuple((name.replace("_", " "), figure(v, "")) for name, v in row.evidence.items())


def _settled(row: CaseFinding, names: Mapping[int, str]) -> str:
    if row.state == FindingState.OPEN:
        return ""
    who = f" by {names[row.settled_by_id]}" if row.settled_by_id else ""
    second = f" and {names[row.second_by_id]}" if row.second_by_id else ""
    waits = ", waits for a second person" if awaits_second(row) else ""
    why = f": {row.reason}" if row.reason and row.state in BY_HAND else ""
    return f"{FindingState(row.state).label}{who}{second}{waits}{why}"
