"""Findings settled by a person: confirmed or accepted with a reason, by two people where listed."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime

from django.contrib.auth.models import User
from django.db import transaction

from intake.desk.errors import FindingStays, NotAllowed, SecondPersonNeeded
from intake.desk.moves import case_touch
from intake.desk.services.holding import reason_given
from intake.desk.services.work import case_hold
from intake.desk.words import reason_title
from intake.events.services import event_record
from intake.models import CaseFinding, FindingState

# Waved through, these destroy equipment, kill a line worker, or leave nothing to price.
NEVER_ACCEPTED = frozenset(
    {
        "supply_unsure",
        "backfeed",
        "frequency_mismatch",
        "voltage_mismatch",
        "dates_unsure",
        "place_unsure",
    }
)
BY_HAND = (FindingState.CONFIRMED, FindingState.ACCEPTED)
BY_A_PERSON = (*BY_HAND, FindingState.CORRECTED)  # what the owner wants two people for


@transaction.atomic
def finding_settle(
    *, finding: CaseFinding, version: int, actor: User, state: str, reason: str, now: datetime
) -> None:
    """Settle one finding by hand, with the reason."""
    case, reason = finding.case, reason_given(reason)
    if state not in BY_HAND:
        raise FindingStays
    if finding.code in NEVER_ACCEPTED:
        raise FindingStays(
            f"“{reason_title(finding.code)}” cannot be accepted: correct the answer it rests on."
        )
    version = case_hold(case=case, version=version, actor=actor, now=now)
    finding.state, finding.reason = state, reason
    finding.settled_by, finding.second_by, finding.settled_at = actor, None, now
    finding.full_clean(exclude=["case", "run"])
    finding.save()
    case_touch(case=case, version=version)
    event_record(
        kind="finding_settled", now=now, actor=actor, request=case.request,
        subject=reason_title(finding.code), state=str(FindingState(state).label), reason=reason,
    )  # fmt: skip


@transaction.atomic
def finding_reopen(
    *, finding: CaseFinding, version: int, actor: User, reason: str, now: datetime
) -> None:
    """Take a settlement back."""
    case, reason = finding.case, reason_given(reason)
    version = case_hold(case=case, version=version, actor=actor, now=now)
    finding.state, finding.reason = FindingState.OPEN, ""
    finding.settled_by, finding.second_by, finding.settled_at = None, None, None
    finding.save()
    case_touch(case=case, version=version)
    event_record(
        kind="finding_reopened", now=now, actor=actor, request=case.request,
        subject=reason_title(finding.code), reason=reason,
    )  # fmt: skip


@transaction.atomic
def finding_second(*, finding: CaseFinding, version: int, actor: User, now: datetime) -> None:
    """Agree with a settlement as the second person; the case stays with its owner."""
    if not actor.has_perm("intake.second_case"):
        raise NotAllowed
    if finding.state not in BY_A_PERSON or finding.settled_by_id == actor.pk:
        raise SecondPersonNeeded
    finding.second_by = actor
    finding.full_clean(exclude=["case", "run"])
    finding.save()
    case_touch(case=finding.case, version=version)
    event_record(
        kind="finding_seconded", now=now, actor=actor, request=finding.case.request,
        subject=reason_title(finding.code),
    )  # fmt: skip


def findings_open(findings: Iterable[CaseFinding]) -> list[CaseFinding]:
    """What still keeps a case from being released: findings that need a person, undecided."""
    return [f for f in findings if f.severity == "needs_person" and not decided(f)]


def decided(finding: CaseFinding) -> bool:
    """Whether nothing is left to do about a finding, the second pair of eyes included."""
    if finding.state == FindingState.OPEN:
        return False
    return not awaits_second(finding)


def awaits_second(finding: CaseFinding) -> bool:
    """Settled by one person where the owner wants two."""
    return finding.four_eyes and finding.state in BY_A_PERSON and finding.second_by_id is None
