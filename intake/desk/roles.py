"""What each role may do. Kept as Django groups, made anew after each migration."""

from __future__ import annotations

from typing import Any

from django.apps import AppConfig
from django.contrib.auth.management import create_permissions
from django.contrib.auth.models import Group, Permission

READ, WORK, SECOND = "read_desk", "work_case", "second_case"
OVERRIDE, FIGURES, STAFF = "override_check", "read_figures", "change_staffprofile"

ROLES: dict[str, frozenset[str]] = {
    "viewer": frozenset({READ, FIGURES}),
    "rep": frozenset({READ, WORK}),
    "senior_rep": frozenset({READ, WORK, SECOND, FIGURES}),
    "manager": frozenset(
        {
            READ,
            WORK,
            SECOND,
            OVERRIDE,
            FIGURES,
            STAFF,
            "add_staffprofile",
            "view_staffprofile",
            "add_foureyesrule",
            "change_foureyesrule",
            "view_foureyesrule",
            "delete_foureyesrule",
            "add_apikey",
            "change_apikey",
            "view_apikey",
            "add_webhookendpoint",
            "change_webhookendpoint",
            "view_webhookendpoint",
            "delete_webhookendpoint",
            "view_webhookdelivery",
        }
    ),
}


def roles_ensure(sender: AppConfig, **_: Any) -> None:
    """Give each group at least the permissions of its role; what an owner added stays."""
    create_permissions(sender, verbosity=0)
    for name, codenames in ROLES.items():
        group, _made = Group.objects.get_or_create(name=name)
        group.permissions.add(
            *Permission.objects.filter(content_type__app_label="intake", codename__in=codenames)
        )
