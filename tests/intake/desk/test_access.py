"""Roles and branches: the stranger, the viewer, the rep, the senior rep and the manager."""

from __future__ import annotations

from typing import Any

import pytest
from django.contrib.auth.models import Group, User
from django.test import Client
from django.urls import URLPattern, reverse

from intake.desk.access import colleagues
from intake.desk.roles import ROLES
from intake.desk.services.people import four_eyes_set, staff_set
from intake.desk.urls import urlpatterns
from intake.models import Case, CaseState, Event, FourEyesRule
from tests.intake.desk import cast

pytestmark = pytest.mark.django_db
POSTS = {
    "claim", "give_back", "pass_on", "put_off", "note", "ask", "phone", "settle", "reopen",
    "second", "confirm", "choose", "release", "decline",
}  # fmt: skip
WRITES = POSTS | {"answer"}
FIGURES = {"figures", "figures_csv", "record", "record_csv"}


def address(pattern: URLPattern, case: Case) -> str:
    """The address of a page of the desk, about this case where it is about one."""
    wanted = pattern.pattern.converters
    finding = case.findings.first()
    assert finding is not None
    known = {"reference": case.request.reference, "key": "supply", "finding_id": finding.pk,
             "photo_id": 1}  # fmt: skip
    return reverse(f"desk:{pattern.name}", kwargs={name: known[name] for name in wanted})


def visit(client: Client, pattern: URLPattern, case: Case) -> Any:
    where = address(pattern, case)
    return client.post(where) if pattern.name in POSTS else client.get(where)


def statuses(client: Client, case: Case) -> dict[str, int]:
    """What each page of the desk answers this visitor."""
    return {str(p.name): visit(client, p, case).status_code for p in urlpatterns}


def test_a_stranger_is_sent_to_sign_in_from_every_page(client: Client, case: Case) -> None:
    for pattern in urlpatterns:
        response = visit(client, pattern, case)
        assert response.status_code == 302, pattern.name
        assert response.url.startswith("/accounts/sign-in/"), pattern.name


def test_somebody_without_a_role_is_refused_everywhere(client: Client, case: Case) -> None:
    client.force_login(User.objects.create_user("nobody"))
    assert set(statuses(client, case).values()) == {403}


def test_another_branchs_case_does_not_exist(client: Client, case: Case) -> None:
    Case.objects.filter(pk=case.pk).update(branch_code="RIDGE")
    client.force_login(cast.person("far", "manager", "PLAINS"))
    about_a_case = {str(p.name) for p in urlpatterns if "reference" in p.pattern.converters}
    answered = statuses(client, case)
    assert {name: answered[name] for name in about_a_case} == dict.fromkeys(about_a_case, 404)
    assert len(about_a_case) > 20


def test_the_queue_counts_only_the_own_branches(client: Client, case: Case) -> None:
    Case.objects.filter(pk=case.pk).update(branch_code="RIDGE")
    client.force_login(cast.person("far", "rep", "PLAINS"))
    assert client.get(reverse("desk:queue")).context["counts"]["desk"] == 0
    client.force_login(cast.person("near", "rep", "RIDGE"))
    assert client.get(reverse("desk:queue")).context["counts"]["desk"] == 1


@pytest.mark.parametrize("role", sorted(ROLES))
def test_each_role_opens_what_is_its_own(client: Client, case: Case, role: str) -> None:
    client.force_login(cast.person("somebody", role))
    opened = {name for name, status in statuses(client, case).items() if status != 403}
    assert opened == {str(p.name) for p in urlpatterns if allowed(str(p.name), role)}


def allowed(name: str, role: str) -> bool:
    if name == "second":
        return role in ("senior_rep", "manager")
    if name == "people":
        return role == "manager"
    if name in WRITES:
        return role != "viewer"
    return name not in FIGURES or role != "rep"


def test_a_viewer_changes_nothing(client: Client, case: Case, viewer: User) -> None:
    client.force_login(viewer)
    for pattern in urlpatterns:
        visit(client, pattern, case)
    fresh = Case.objects.get(pk=case.pk)
    assert (fresh.version, fresh.state) == (case.version, CaseState.OPEN)


def test_roles_are_groups_with_exactly_their_permissions(db: None) -> None:
    for name, wanted in ROLES.items():
        has = Group.objects.get(name=name).permissions.filter(content_type__app_label="intake")
        assert set(has.values_list("codename", flat=True)) == set(wanted)


def test_a_new_role_is_recorded(rep: User, manager: User) -> None:
    staff_set(
        person=rep, role="senior_rep", branch_codes=["RIDGE"], all_branches=False, actor=manager,
        now=cast.NOW,
    )  # fmt: skip
    event = Event.objects.get(kind="staff_changed")
    assert (event.data["role"], event.data["before"]) == ("senior_rep", "rep for all branches")
    assert User.objects.get(pk=rep.pk).has_perm("intake.second_case")


def test_nobody_raises_the_own_role(client: Client, manager: User) -> None:
    client.force_login(manager)
    refused = client.post(reverse("desk:people"), {"person": manager.pk, "role": "viewer"})
    assert refused.status_code == 422
    assert b"Nobody changes the own role" in refused.content


def test_the_manager_says_which_findings_take_two(client: Client, manager: User) -> None:
    client.force_login(manager)
    client.post(reverse("desk:people"), {"codes": "life_safety, towing_limit", "over_kw": "150"})
    kept = dict(FourEyesRule.objects.values_list("code", "over_kw"))
    assert kept == {"life_safety": None, "over_size": 150, "towing_limit": None}
    assert Event.objects.filter(kind="four_eyes_changed").count() == 1


def test_above_the_owners_size_a_release_takes_two(manager: User, rep: User) -> None:
    four_eyes_set(codes=[], over_kw=1, actor=manager, now=cast.NOW)
    case = cast.unsure_voltage()
    finding = case.findings.get(code="over_size")
    assert finding.four_eyes
    assert "above 1 kW" in finding.detail


def test_a_case_is_passed_on_to_who_works_cases_of_its_branch(case: Case, rep: User) -> None:
    cast.person("vito", "viewer")
    cast.person("far", "rep", "PLAINS")
    near = cast.person("near", "rep", "RIDGE", "PLAINS")
    everywhere = cast.person("mara", "manager")
    bare = cast.person("bare", "rep")
    bare.staff_profile.delete()
    owner = cast.person("otto", "manager", "PLAINS")
    User.objects.filter(pk=owner.pk).update(is_superuser=True, first_name="")
    Case.objects.filter(pk=case.pk).update(branch_code="RIDGE")
    case.refresh_from_db()
    allowed = [(owner.pk, "otto"), (everywhere.pk, "Mara"), (near.pk, "Near")]
    assert colleagues(rep, case) == allowed
    case.branch_code = ""
    assert [name for _pk, name in colleagues(rep, case)] == ["otto", "Bare", "Far", "Mara", "Near"]
