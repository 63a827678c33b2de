"""Who may see what on the desk: signed in, of a role, and of the case's branch."""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib.auth.models import User
from django.contrib.auth.views import redirect_to_login
from django.core.exceptions import PermissionDenied
from django.db.models import Q, QuerySet
from django.http import Http404, HttpRequest, HttpResponseBase
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.cache import never_cache

from intake.desk.promise import company_zone
from intake.desk.second_factor import code_missing_for_desk
from intake.desk.words import full_name
from intake.models import Case, HireRequest, StaffProfile
from intake.prepared import A_KEY, Prepared

View = Callable[..., HttpResponseBase]
CASES = Prepared(lambda named: Case.objects.filter(request__reference=named), "")
REQUESTS = Prepared(lambda pk: HireRequest.objects.filter(pk=pk), A_KEY)


def desk_page(permission: str, *, without_code: bool = False) -> Callable[[View], View]:
    """A page of the desk: a stranger is sent to sign in, another role is refused.

    Where everybody needs one-time codes, who signed in without is led to where they are had.
    """

    asked = {"intake.read_desk", f"intake.{permission}"}

    def decorated(view: View) -> View:
        @wraps(view)
        def checked(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            if not request.user.is_authenticated:
                return redirect_to_login(request.get_full_path())
            if not request.user.has_perms(asked):
                raise PermissionDenied
            if not without_code and code_missing_for_desk(request):
                return redirect("desk:codes")
            with timezone.override(company_zone()):
                return view(request, *args, **kwargs)

        return never_cache(checked)

    return decorated


def cases_of(user: User) -> QuerySet[Case]:
    """The cases a person may see: those of the own branches, and those of no branch yet."""
    branches = branches_of(user)
    if branches is None:
        return Case.objects.all()
    return Case.objects.filter(Q(branch_code__in=branches) | Q(branch_code=""))


def branches_of(user: User) -> list[str] | None:
    """The codes of a person's branches; ``None`` where all are open to them."""
    profile: StaffProfile | None = getattr(user, "staff_profile", None)  # read once a person
    if user.is_superuser or (profile is not None and profile.all_branches):
        return None
    return list(profile.branch_codes) if profile is not None else []


def case_of(user: User, reference: str) -> Case:
    """One case by its request's reference; another branch's case does not exist."""
    case = CASES.first(reference)
    if case is None or not may_see(user, case):
        raise Http404("no such case")
    case.request = REQUESTS.rows(case.request_id)[0]
    return case


def may_see(user: User, case: Case) -> bool:
    """Whether a case is of one of a person's branches."""
    branches = branches_of(user)
    return branches is None or case.branch_code in ("", *branches)


def colleagues(user: User, case: Case) -> list[tuple[int, str]]:
    """Who else may work a case of this branch: by key, with the name that the record writes."""
    return [
        (pk, full_name(*name))
        for pk, *name, owner, everywhere, branches in COLLEAGUES.rows(user.pk)
        if owner or everywhere or case.branch_code in ("", *(branches or ()))
    ]


def workers() -> QuerySet[User]:
    """Everybody who may work cases, by name."""
    works = Q(groups__permissions__codename="work_case") | Q(user_permissions__codename="work_case")
    found = User.objects.filter(works, is_active=True).distinct()
    return found.order_by("first_name", "username")


NAMED = ("pk", "first_name", "last_name", "username")
WORKERS = Prepared(lambda: workers().values_list(*NAMED))
COLLEAGUES = Prepared(
    lambda user: (
        workers()
        .exclude(pk=user)
        .values_list(
            *NAMED, "is_superuser", "staff_profile__all_branches", "staff_profile__branch_codes"
        )
    ),
    A_KEY,
)


def workers_named() -> list[tuple[int, str]]:
    """Everybody who may work cases: by key, with the name that the record writes."""
    return [(pk, full_name(*name)) for pk, *name in WORKERS.rows()]
