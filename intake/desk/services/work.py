"""Working on a case: who acts on a waiting case takes it; another's case is taken over first."""

from __future__ import annotations

from datetime import datetime

from django.contrib.auth.models import User

from intake.desk.choosing import Choice, choice_of, chosen_result
from intake.desk.errors import CaseMoveRefused, HeldByAnother, SetNotThere
from intake.desk.moves import case_touch
from intake.desk.services.findings import findings_reconcile
from intake.desk.services.holding import case_claim, name_of
from intake.events.services import event_record
from intake.models import NOT_CLOSED, Case, CaseState, HireRequest, SizingRun
from intake.requests.runs import fleet_for, sizing_run_store


def case_hold(*, case: Case, version: int, actor: User, now: datetime) -> int:
    """Make sure ``actor`` has the case; returns the version that now stands."""
    if case.state not in NOT_CLOSED:
        raise CaseMoveRefused(origin=case.state)
    if case.state != CaseState.CLAIMED:
        case_claim(case=case, version=version, actor=actor, now=now)
        return case.version
    if case.owner_id != actor.pk and case.owner is not None:
        raise HeldByAnother(f"{name_of(case.owner)} has this case. Take it over first.")
    return version


def case_sized_again(
    *, case: Case, version: int, actor: User | str, now: datetime, choice: Choice | None = None
) -> tuple[SizingRun, dict[str, list[str]]]:
    """Size the request as it is answered now, and bring the case in step with the new run.

    A rep's choice of set outlives a changed answer: it is measured again, not forgotten.
    """
    kept = latest_run(case.request)
    choice = choice or (choice_of(kept.result) if kept else Choice())
    run = sizing_run_store(request=case.request, now=now, made_by=_person(actor))
    if not choice.empty:
        _put_choice(run, choice)
    changes = findings_reconcile(case=case, run=run)
    event_record(
        kind="sizing_run", now=now, actor=actor, request=case.request,
        number=run.number, outcome=run.outcome,
    )  # fmt: skip
    case_touch(case=case, version=version)
    return run, changes


def _put_choice(run: SizingRun, choice: Choice) -> None:
    fleet = fleet_for(run.requirement)
    result = chosen_result(run.result, run.requirement, fleet, choice)
    if result is None:
        raise SetNotThere(f"{choice.sets or 'No set'} is not to be had for this job.")
    run.result = result
    run.save(update_fields=["result"])


def latest_run(request: HireRequest) -> SizingRun | None:
    """The run that counts: the last one."""
    return request.runs.order_by("-number").first()


def _person(actor: User | str) -> User | None:
    return actor if isinstance(actor, User) else None
