"""What each role may do with fleet, rates and quotes: Django groups, made anew after migrations."""

from __future__ import annotations

from typing import Any

from django.apps import AppConfig
from django.contrib.auth.management import create_permissions
from django.contrib.auth.models import Group, Permission

OWNED = (
    "accessorytype", "agreedterms", "branch", "cardfee", "declaredemergency", "deliveryvehicle",
    "dutyturn", "exemptioncertificate", "facilitykind", "hirecompany", "publicbody", "rate",
    "ratecard", "settype", "taxrule", "unit",
)  # fmt: skip
SEEN = (*OWNED, "booking", "order", "quote", "standingsite")
MANAGERS_ACTS = ("add", "change", "delete", "view")


def roles_ensure(sender: AppConfig, **_: Any) -> None:
    """Managers keep the owner's tables; everybody at the desk may look at them."""
    create_permissions(sender, verbosity=0)
    owned = [f"{act}_{model}" for act in MANAGERS_ACTS for model in OWNED]
    seen = [f"view_{model}" for model in SEEN]
    _give("manager", [*owned, *seen])
    for name in ("viewer", "rep", "senior_rep"):
        _give(name, seen)


def _give(name: str, codenames: list[str]) -> None:
    group, _made = Group.objects.get_or_create(name=name)
    group.permissions.add(
        *Permission.objects.filter(content_type__app_label="quotes", codename__in=codenames)
    )
