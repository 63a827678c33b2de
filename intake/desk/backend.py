"""Who is signed in and what they may do, in as few queries as it takes."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.backends import ModelBackend
from django.contrib.auth.models import Permission, User
from django.db.models import Q


class StaffBackend(ModelBackend):
    """Django's own backend; a person comes with the profile, all permissions by one query."""

    def get_user(self, user_id: int) -> User | None:
        user = User.objects.select_related("staff_profile").filter(pk=user_id).first()
        return user if user is not None and self.user_can_authenticate(user) else None

    def get_all_permissions(self, user_obj: Any, obj: Any = None) -> set[str]:
        """A person's own permissions and those of the groups; everything for the owner."""
        if not user_obj.is_active or user_obj.is_anonymous or obj is not None:
            return set()
        if not hasattr(user_obj, "_perm_cache"):
            user_obj._perm_cache = _permissions(user_obj)
        kept: set[str] = user_obj._perm_cache
        return kept


def _permissions(user: User) -> set[str]:
    theirs = Q() if user.is_superuser else Q(user=user) | Q(group__user=user)
    rows = Permission.objects.filter(theirs).values_list("content_type__app_label", "codename")
    return {f"{app}.{name}" for app, name in rows.order_by()}
