"""Admin pages that keep what was changed, by whom, with before and after."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.contrib.auth.models import User
from django.db import models
from django.forms import ModelForm
from django.http import HttpRequest
from django.utils import timezone

from intake.events.services import event_record


class RecordedAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    """Saves with a row in the record; a row in use is not deleted but taken out of service."""

    def save_model(
        self,
        request: HttpRequest,
        obj: models.Model,
        form: Any,
        change: bool,
    ) -> None:
        super().save_model(request, obj, form, change)
        record_change(request, obj, changes_of(form) if change else "added")

    def delete_model(self, request: HttpRequest, obj: models.Model) -> None:
        record_change(request, obj, "deleted")
        super().delete_model(request, obj)


def changes_of(form: ModelForm) -> str:  # type: ignore[type-arg]
    """Each changed field with before and after: ``week 600.00 -> 630.00``."""
    return "; ".join(
        f"{name} {form.initial.get(name)} -> {form.cleaned_data.get(name)}"
        for name in form.changed_data
    )


def record_change(request: HttpRequest, obj: models.Model, changes: str) -> None:
    """One row in the record, where anything changed."""
    assert isinstance(request.user, User)
    if changes:
        event_record(
            kind="owner_record_changed",
            now=timezone.now(),
            actor=request.user,
            subject=str(obj)[:120],
            changes=changes[:2000],
        )


def inline_changes(formset: Any) -> str:
    """Changes of the rows below a record."""
    changed = [
        f"{form.instance}: {changes_of(form)}" for form in formset.forms if form.has_changed()
    ]
    deleted = [f"{form.instance}: deleted" for form in formset.deleted_forms]
    return "; ".join([*changed, *deleted])
