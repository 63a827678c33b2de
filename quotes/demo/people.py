"""The demo's staff, each in the group of its role."""

from __future__ import annotations

from django.contrib.auth.models import Group, User

from intake.models import StaffProfile
from quotes.demo.company import company_document

PASSPHRASE = "demo-only-passphrase"  # noqa: S105 - printed by the demo, for the demo


def people_load() -> list[str]:
    """Make the sign-ins that are not there yet; return the names of all."""
    names = []
    for person in company_document()["staff"]:
        names.append(person["username"])
        _person_load(person)
    return names


def _person_load(person: dict[str, str]) -> None:
    user, made = User.objects.get_or_create(
        username=person["username"],
        defaults={
            "first_name": person["first_name"],
            "last_name": person["last_name"],
            "email": f"{person['username']}@coldwater-ridge.example",
            "is_staff": person["group"] == "manager",
        },
    )
    if made:
        user.set_password(PASSPHRASE)
        user.save(update_fields=["password"])
    user.groups.add(Group.objects.get_or_create(name=person["group"])[0])
    StaffProfile.objects.get_or_create(user=user, defaults={"all_branches": True})
