"""Who works the desk, and for which branches. What they may do is in their Django group."""

from __future__ import annotations

from django.db import models


class StaffProfile(models.Model):
    """The branches a person works for; a manager of the whole company has ``all_branches``."""

    user = models.OneToOneField("auth.User", on_delete=models.CASCADE, related_name="staff_profile")
    all_branches = models.BooleanField(default=False)
    branch_codes = models.JSONField(default=list, blank=True)

    def __str__(self) -> str:
        where = "all branches" if self.all_branches else ", ".join(self.branch_codes)
        return f"{self.user}: {where}"
