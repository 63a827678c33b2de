"""The acts on a case: each reads its form, calls one service, and goes back to the page."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from functools import wraps
from typing import Any, Concatenate, ParamSpec

from django import forms
from django.contrib.auth.models import User
from django.http import Http404, HttpRequest, HttpResponseBase
from django.utils import timezone
from django.views.decorators.http import require_POST

from intake.desk import forms as desk_forms
from intake.desk.access import case_of, desk_page
from intake.desk.choosing import Choice, choice_of
from intake.desk.errors import FormRefused
from intake.desk.services import asking, choosing, deciding, holding, settling
from intake.desk.services.answers import answer_confirm
from intake.desk.services.work import latest_run
from intake.desk.subjects import subject_by_key
from intake.desk.views.case import back_to, render_case
from intake.models import Case, CaseFinding
from intake.requests.errors import ServiceRefusal

P = ParamSpec("P")


class Act:
    """What every act knows: the case, who acts, what the person saw, and when."""

    def __init__(self, request: HttpRequest, case: Case, now: datetime) -> None:
        assert isinstance(request.user, User)
        self.request, self.case, self.now, self.actor = request, case, now, request.user
        seen = request.POST.get("version", "")
        self.version = int(seen[:9]) if seen.isdigit() else 0

    @property
    def seen(self) -> dict[str, Any]:
        return {"version": self.version, "actor": self.actor, "now": self.now}

    def read(self, form_class: type[forms.Form]) -> Any:
        """The posted form, or a refusal with its sentences."""
        form = form_class(self.request.POST)
        if not form.is_valid():
            raise FormRefused(" ".join(str(e) for errors in form.errors.values() for e in errors))
        return form

    def finding(self, pk: int | None) -> CaseFinding | None:
        if pk is None:
            return None
        found = self.case.findings.select_related("case__request", "case__owner").filter(pk=pk)
        if not found:
            raise Http404("no such finding")
        return found[0]


def act(
    permission: str = "work_case",
) -> Callable[[Callable[Concatenate[Act, P], str | None]], Callable[..., HttpResponseBase]]:
    """A view of one act; refused, it shows the case page with the refusal and what was typed."""

    def decorated(
        inner: Callable[Concatenate[Act, P], str | None],
    ) -> Callable[..., HttpResponseBase]:
        @desk_page(permission)
        @require_POST
        @wraps(inner)
        def view(
            request: HttpRequest, reference: str, *args: P.args, **kwargs: P.kwargs
        ) -> HttpResponseBase:
            assert isinstance(request.user, User)
            case = case_of(request.user, reference)
            try:
                anchor = inner(Act(request, case, timezone.now()), *args, **kwargs)
            except ServiceRefusal as refusal:
                return render_case(request, case_of(request.user, reference), refusal=refusal)
            return back_to(case, anchor or "")

        return view

    return decorated


# ---- who has it ----------------------------------------------------------------------------


@act()
def claim(a: Act) -> None:
    holding.case_claim(case=a.case, **a.seen)


@act()
def give_back(a: Act) -> None:
    holding.case_give_back(case=a.case, **a.seen)


@act()
def pass_on(a: Act) -> None:
    form = a.read(desk_forms.PassOn)
    holding.case_pass_on(
        case=a.case, to=form.cleaned_data["to"], reason=form.cleaned_data["reason"], **a.seen
    )


@act()
def put_off(a: Act) -> None:
    form = a.read(desk_forms.PutOff)
    holding.case_snooze(
        case=a.case, until=form.until(a.now), reason=form.cleaned_data["reason"], **a.seen
    )


@act()
def note(a: Act) -> str:
    text = a.read(desk_forms.Note).cleaned_data["text"]
    holding.note_add(case=a.case, actor=a.actor, text=text, now=a.now)
    return "record"


# ---- asking --------------------------------------------------------------------------------


@act()
def ask(a: Act) -> None:
    form = a.read(desk_forms.Ask)
    finding = a.finding(form.cleaned_data["finding"])
    asking.question_ask(case=a.case, finding=finding, words=form.cleaned_data["words"], **a.seen)


@act()
def phone(a: Act) -> None:
    form = a.read(desk_forms.Phone)
    asking.question_phone(
        case=a.case,
        finding=a.finding(form.cleaned_data["finding"]),
        words=form.cleaned_data["words"],
        answer=form.cleaned_data["answer"],
        **a.seen,
    )


# ---- settling ------------------------------------------------------------------------------


@act()
def settle(a: Act, finding_id: int) -> None:
    finding = a.finding(finding_id)
    assert finding is not None
    form = a.read(desk_forms.Settle)
    settling.finding_settle(
        finding=finding,
        state=form.cleaned_data["state"],
        reason=form.cleaned_data["reason"],
        **a.seen,
    )


@act()
def reopen(a: Act, finding_id: int) -> None:
    finding = a.finding(finding_id)
    assert finding is not None
    reason = a.read(desk_forms.Reason).cleaned_data["reason"]
    settling.finding_reopen(finding=finding, reason=reason, **a.seen)


@act("second_case")
def second(a: Act, finding_id: int) -> None:
    finding = a.finding(finding_id)
    assert finding is not None
    settling.finding_second(finding=finding, **a.seen)


@act()
def confirm(a: Act, key: str) -> None:
    subject = subject_by_key(key, a.case.request)
    if subject is None:
        raise Http404("no such answer")
    answer_confirm(case=a.case, subject=subject, **a.seen)


# ---- deciding ------------------------------------------------------------------------------


@act()
def choose(a: Act) -> str:
    form = a.read(desk_forms.Choose)
    run = latest_run(a.case.request)
    before = choice_of(run.result) if run else Choice()
    choice = form.choice(before, holding.name_of(a.actor))
    choosing.choice_store(case=a.case, choice=choice, **a.seen)
    return "sizing"


@act()
def release(a: Act) -> None:
    deciding.case_release(case=a.case, **a.seen)


@act()
def decline(a: Act) -> None:
    words = a.read(desk_forms.Words).cleaned_data["words"]
    deciding.case_decline(case=a.case, words=words, **a.seen)
