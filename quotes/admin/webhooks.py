"""Webhooks in the admin: addresses to tell, their secrets shown once, and what was told."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import admin, messages
from django.contrib.auth.models import User
from django.db.models import QuerySet
from django.http import HttpRequest
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from intake.models import WebhookDelivery, WebhookEndpoint
from intake.requests.errors import ServiceRefusal
from intake.webhooks.addresses import url_checked
from intake.webhooks.endpoints import (
    OVERLAP,
    endpoint_change,
    endpoint_make,
    endpoint_remove,
    endpoint_rotate,
)
from intake.webhooks.errors import AddressRefused
from intake.webhooks.kinds import KINDS
from intake.webhooks.services import delivery_again
from quotes.admin.orders import ReadOnlyAdmin

KEEP_SECRET = _("Secret of %(name)s, shown this once: %(secret)s")


class WebhookForm(forms.ModelForm):  # type: ignore[type-arg]
    """Where to tell, and of what."""

    kinds = forms.MultipleChoiceField(
        label=_("Tell when"),
        choices=[(kind, f"{kind}: {what}") for kind, what in KINDS.items()],
        widget=forms.CheckboxSelectMultiple,
    )

    class Meta:
        model = WebhookEndpoint
        fields = ("name", "url", "kinds", "active")

    def clean_url(self) -> str:
        try:
            return url_checked(self.cleaned_data["url"]).geturl()
        except AddressRefused as refusal:
            raise forms.ValidationError(str(refusal)) from refusal


@admin.register(WebhookEndpoint)
class WebhookEndpointAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    form = WebhookForm
    list_display = ("name", "url", "active", "off_reason", "earlier_secret_until")
    readonly_fields = ("off_reason", "earlier_secret_until", "created_at")
    actions = ("new_secret",)

    def save_model(
        self, request: HttpRequest, obj: WebhookEndpoint, form: Any, change: bool
    ) -> None:
        """By the services, so that the record says who changed what."""
        assert isinstance(request.user, User)
        if change:
            changes = {name: form.cleaned_data[name] for name in form.changed_data}
            endpoint_change(
                endpoint=WebhookEndpoint.objects.get(pk=obj.pk), version=obj.version,
                changes=changes, actor=request.user, now=timezone.now(),
            )  # fmt: skip
            return
        wanted = {name: form.cleaned_data[name] for name in ("name", "url", "kinds")}
        made, secret = endpoint_make(**wanted, actor=request.user, now=timezone.now())
        obj.pk = made.pk
        self.message_user(request, KEEP_SECRET % {"name": made, "secret": secret})

    def delete_model(self, request: HttpRequest, obj: WebhookEndpoint) -> None:
        assert isinstance(request.user, User)
        endpoint_remove(endpoint=obj, version=obj.version, actor=request.user, now=timezone.now())

    def delete_queryset(self, request: HttpRequest, queryset: QuerySet[WebhookEndpoint]) -> None:
        for endpoint in queryset:
            self.delete_model(request, endpoint)

    @admin.action(
        description=_("New secret; the one before holds for a day"), permissions=["change"]
    )
    def new_secret(self, request: HttpRequest, queryset: QuerySet[WebhookEndpoint]) -> None:
        assert isinstance(request.user, User)
        for endpoint in queryset:
            secret = endpoint_rotate(
                endpoint=endpoint, version=endpoint.version, overlap=OVERLAP, actor=request.user,
                now=timezone.now(),
            )  # fmt: skip
            self.message_user(request, KEEP_SECRET % {"name": endpoint, "secret": secret})


@admin.register(WebhookDelivery)
class WebhookDeliveryAdmin(ReadOnlyAdmin):
    list_display = (
        "kind", "endpoint", "created_at", "attempts", "last_status", "last_error", "next_at",
        "delivered_at", "given_up_at",
    )  # fmt: skip
    list_filter = ("kind", "endpoint")
    list_select_related = ("endpoint",)
    date_hierarchy = "created_at"
    actions = ("send_again",)

    @admin.action(description=_("Send again what was given up"))
    def send_again(self, request: HttpRequest, queryset: QuerySet[WebhookDelivery]) -> None:
        for delivery in queryset:
            try:
                delivery_again(delivery=delivery, now=timezone.now())
            except ServiceRefusal as refusal:
                self.message_user(request, f"{delivery}: {refusal}", messages.WARNING)
