"""Keys of programs in the admin: made, shown once, given a successor, ended."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django import forms
from django.contrib import admin
from django.contrib.auth.models import User
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from intake.api.keys import (
    AS_A_PERSON,
    KEY_DAYS,
    OF_A_BODY,
    SCOPES,
    KeyRefused,
    key_make,
    key_revoke,
    key_rotate,
)
from intake.models import ApiClient, ApiKey, Organisation
from quotes.admin.recorded import record_change

OVERLAP = timedelta(hours=24)
KEEP_KEY = _("Key of %(client)s, shown this once: %(key)s")


class KeyForm(forms.ModelForm):  # type: ignore[type-arg]
    """A new key. What a program does at the desk it does as whoever makes the key here."""

    client_name = forms.CharField(
        label=_("Program"), max_length=80, help_text=_("An earlier name gets one more key.")
    )
    may = forms.MultipleChoiceField(
        label=_("It may"),
        choices=[(scope, f"{scope}: {what}") for scope, what in SCOPES.items()],
        widget=forms.CheckboxSelectMultiple,
    )
    organisation = forms.ModelChoiceField(
        label=_("Public body"),
        queryset=Organisation.objects.exclude(public_body_entry=None).order_by("name"),
        required=False,
        help_text=_("Whose sites it keeps; for sites_read and sites_write."),
    )
    days = forms.IntegerField(
        label=_("Days it holds"), min_value=1, max_value=3650, initial=KEY_DAYS
    )
    maker: User  # whoever is signed in

    class Meta:
        model = ApiKey
        fields = ()

    def clean(self) -> dict[str, Any]:
        data: dict[str, Any] = super().clean() or {}
        chosen = set(data.get("may", []))
        client = ApiClient.objects.filter(name=data.get("client_name", "")).first()
        body = data.get("organisation")
        if chosen & OF_A_BODY and not (body or (client and client.organisation)):
            self.add_error("organisation", _("Choose the public body whose sites it keeps."))
        if client and body and client.organisation not in (None, body):
            self.add_error("organisation", _("This program belongs to another body."))
        if chosen & AS_A_PERSON and client and client.acts_as not in (None, self.maker):
            self.add_error("client_name", _("This program acts as somebody else: name another."))
        return data

    def key_made(self) -> tuple[ApiKey, str]:
        """The key and its text."""
        data = self.cleaned_data
        return key_make(
            client_name=data["client_name"],
            scopes=data["may"],
            organisation=data["organisation"],
            acts_as=self.maker if set(data["may"]) & AS_A_PERSON else None,
            days=data["days"],
            now=timezone.now(),
        )


@admin.register(ApiKey)
class ApiKeyAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    """Nothing of a key is changed but its end."""

    form = KeyForm
    list_display = (
        "start",
        "client",
        "of_body",
        "scopes",
        "expires_at",
        "revoked_at",
        "last_used_on",
    )
    list_select_related = ("client__organisation",)
    list_filter = ("client",)
    actions = ("new_key", "end_key")

    @admin.display(description=_("public body"))
    def of_body(self, obj: ApiKey) -> str:
        return str(obj.client.organisation or "")

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def get_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        asked = ("client_name", "may", "organisation", "days")
        kept = ("client", "of_body", "start", "scopes", "created_at", "expires_at", "revoked_at")
        return kept if obj else asked

    def get_readonly_fields(self, request: HttpRequest, obj: Any = None) -> Any:
        return self.get_fields(request, obj) if obj else ()

    def get_form(
        self, request: HttpRequest, obj: Any = None, change: bool = False, **more: Any
    ) -> Any:
        made: Any = super().get_form(request, obj, change, **{**more, "fields": ()})
        made.maker = request.user
        return made

    def save_model(self, request: HttpRequest, obj: ApiKey, form: Any, change: bool) -> None:
        """Made by the service; the text of the key is shown now and never again."""
        if change:
            return
        made, text = form.key_made()
        obj.pk, obj.client, obj.start = made.pk, made.client, made.start
        record_change(request, made, f"added, for {', '.join(made.scopes)}")
        self.message_user(request, KEEP_KEY % {"client": made.client, "key": text})

    @admin.action(description=_("New key; the one before holds for a day"), permissions=["change"])
    def new_key(self, request: HttpRequest, queryset: QuerySet[ApiKey]) -> None:
        for key in queryset.select_related("client"):
            try:
                made, text = key_rotate(key=key, now=timezone.now(), overlap=OVERLAP)
            except KeyRefused as refusal:
                self.message_user(request, f"{key}: {refusal}", "WARNING")
                continue
            record_change(request, key, f"succeeded by {made.start}…")
            self.message_user(request, KEEP_KEY % {"client": made.client, "key": text})

    @admin.action(description=_("End at once"), permissions=["change"])
    def end_key(self, request: HttpRequest, queryset: QuerySet[ApiKey]) -> None:
        for key in queryset.select_related("client"):
            key_revoke(key=key, now=timezone.now())
            record_change(request, key, "ended")
