"""Who is signed in and what they may do, in as few queries as it takes."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.backends import ModelBackend
from django.contrib.auth.models import Permission, User
from django.db.models import Q

from intake.models import StaffProfile
from intake.prepared import A_KEY, Prepared

USERS = Prepared(lambda pk: User.objects.filter(pk=pk), A_KEY)
PROFILES = Prepared(lambda pk: StaffProfile.objects.filter(user_id=pk), A_KEY)
NAMES = Permission.objects.order_by().values_list("content_type__app_label", "codename")
ALL = Prepared(lambda: NAMES.all())
THEIRS = Prepared(lambda pk: NAMES.filter(Q(user=pk) | Q(group__user=pk)), A_KEY)


class StaffBackend(ModelBackend):
    """Django's own backend; a person comes with the profile, all permissions by one query more."""

    def get_user(self, user_id: int) -> User | None:
        user = USERS.first(user_id)
        if user is None or not self.user_can_authenticate(user):
            return None
        user._state.fields_cache["staff_profile"] = PROFILES.first(user_id)
        return user

    def get_all_permissions(self, user_obj: Any, obj: Any = None) -> set[str]:
        """A person's own permissions and those of the groups; everything for the owner."""
        if not user_obj.is_active or user_obj.is_anonymous or obj is not None:
            return set()
        if not hasattr(user_obj, "_perm_cache"):
            user_obj._perm_cache = _permissions(user_obj)
        kept: set[str] = user_obj._perm_cache
        return kept


def _permissions(user: User) -> set[str]:
    rows = ALL.rows() if user.is_superuser else THEIRS.rows(user.pk)
    return {f"{app}.{name}" for app, name in rows}
