"""What a person may do is what Django's own backend says, in fewer queries."""

from __future__ import annotations

import pytest
from django.contrib.auth.backends import ModelBackend
from django.contrib.auth.models import Group, Permission, User
from pytest_django import DjangoAssertNumQueries

from intake.desk.access import workers, workers_named
from intake.desk.backend import StaffBackend
from intake.desk.services.holding import name_of
from intake.models import StaffProfile
from tests.intake.desk import cast

pytestmark = pytest.mark.django_db


@pytest.mark.parametrize("kind", ["rep", "owner", "nobody", "gone"])
def test_the_same_permissions(kind: str) -> None:
    person = User.objects.create(
        username=kind, is_superuser=kind == "owner", is_active=kind != "gone"
    )
    if kind != "nobody":
        both = Permission.objects.filter(codename__in=["work_case", "read_desk"])
        group = Group.objects.create(name="some")
        group.permissions.set(both)
        person.groups.add(group)
        person.user_permissions.set(Permission.objects.filter(codename__startswith="read_"))
    ours = StaffBackend().get_all_permissions(User.objects.get(pk=person.pk))
    assert ours == ModelBackend().get_all_permissions(User.objects.get(pk=person.pk))


def test_a_person_comes_with_the_profile(
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    person = User.objects.create(username="rep")
    StaffProfile.objects.create(user=person, branch_codes=["DEN"])
    with django_assert_num_queries(3):
        found = StaffBackend().get_user(person.pk)
        assert found is not None
        assert found.staff_profile.branch_codes == ["DEN"]
        assert not found.has_perm("intake.work_case")


def test_who_left_is_nobody() -> None:
    gone = User.objects.create(username="gone", is_active=False)
    assert StaffBackend().get_user(gone.pk) is None


def test_who_works_cases_is_named_as_the_record_names_them() -> None:
    cast.person("vito", "viewer")
    zoe, bo = cast.person("zoe", "rep"), cast.person("bo", "manager")
    User.objects.filter(pk=zoe.pk).update(last_name="Lee")
    User.objects.filter(pk=bo.pk).update(first_name="")
    assert workers_named() == [(bo.pk, "bo"), (zoe.pk, "Zoe Lee")]
    assert workers_named() == [(one.pk, name_of(one)) for one in workers()]
