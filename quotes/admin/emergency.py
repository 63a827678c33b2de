"""What the owner keeps for emergencies: ranks, public bodies, agreed terms, the duty."""

from __future__ import annotations

from typing import Any

from django.contrib import admin, messages
from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.template.response import TemplateResponse
from django.utils import timezone
from django.utils.translation import gettext as _now_
from django.utils.translation import gettext_lazy as _

from intake.desk.promise import company_zone
from quotes.admin.orders import ReadOnlyAdmin
from quotes.admin.recorded import RecordedAdmin, record_change
from quotes.emergency.clock import zone_words
from quotes.emergency.organisations.services import BodyContact, body_link_renew, body_register
from quotes.emergency.ranks.following import ranks_follow
from quotes.models import AgreedTerms, DutyTurn, FacilityKind, PublicBody, StandingSite


def _rendered(response: HttpResponse) -> HttpResponse:
    """The page written now, while its clock is in force; a redirect as it is."""
    return response.render() if isinstance(response, TemplateResponse) else response


@admin.register(FacilityKind)
class FacilityKindAdmin(RecordedAdmin):
    """A change reaches the needs that no set has reached yet at once."""

    list_display = ("name", "jurisdiction", "rank", "why", "source")
    list_filter = ("rank", "jurisdiction")
    search_fields = ("code", "name")

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        super().save_model(request, obj, form, change)
        self._followed(request)

    def delete_model(self, request: HttpRequest, obj: Any) -> None:
        super().delete_model(request, obj)
        self._followed(request)

    @transaction.atomic
    def delete_queryset(self, request: HttpRequest, queryset: QuerySet[FacilityKind]) -> None:
        for kind in queryset:
            super().delete_model(request, kind)
        self._followed(request)

    def _followed(self, request: HttpRequest) -> None:
        assert isinstance(request.user, User)
        count = ranks_follow(now=timezone.now(), actor=request.user)
        if count:
            messages.info(request, _("Open needs with another rank now: %d.") % count)


@admin.register(PublicBody)
class PublicBodyAdmin(RecordedAdmin):
    """Saving a new one sends its contact the link."""

    list_display = ("organisation", "contact_name", "contact_email", "night_phone", "jurisdiction")
    list_select_related = ("organisation",)
    fields = (
        "organisation", "contact_name", "contact_email", "night_phone", "jurisdiction", "language",
    )  # fmt: skip
    actions = ("send_new_link",)

    def save_model(self, request: HttpRequest, obj: Any, form: Any, change: bool) -> None:
        """A new body gets its token and its letter; a change is a plain change."""
        if change:
            super().save_model(request, obj, form, change)
            return
        data = form.cleaned_data
        made = body_register(
            organisation=data["organisation"],
            contact=BodyContact(data["contact_name"], data["contact_email"], data["night_phone"]),
            jurisdiction=data["jurisdiction"],
            language=data["language"],
            now=timezone.now(),
        )
        obj.pk = made.pk
        obj.refresh_from_db()
        record_change(request, obj, "added")

    @admin.action(
        description=_("Send a new link; the old one stops working"), permissions=["change"]
    )
    def send_new_link(self, request: HttpRequest, queryset: QuerySet[PublicBody]) -> None:
        for body in queryset:
            body_link_renew(body=body, now=timezone.now())
            record_change(request, body, "new link sent")
            messages.success(request, _("Sent to %s.") % body.contact_email)


@admin.register(AgreedTerms)
class AgreedTermsAdmin(RecordedAdmin):
    list_display = (
        "organisation", "valid_from", "valid_until", "uplift_cap_percent", "document_reference",
    )  # fmt: skip
    list_select_related = ("organisation",)


@admin.register(DutyTurn)
class DutyTurnAdmin(RecordedAdmin):
    """Hours are shown and typed by the company's clock: the wrong hour calls the wrong person."""

    list_display = ("user", "branch_code", "starts_at", "ends_at", "phone", "email")
    list_select_related = ("user",)
    date_hierarchy = "starts_at"

    def get_fieldsets(self, request: HttpRequest, obj: Any = None) -> Any:
        """All fields, under a line that names the clock."""
        said = _now_("Hours by the clock of the company: {zone}.").format(
            zone=zone_words(company_zone(), timezone.now())
        )
        return [(None, {"fields": self.get_fields(request, obj), "description": said})]

    def changeform_view(self, *args: Any, **kwargs: Any) -> HttpResponse:
        with timezone.override(company_zone()):
            return _rendered(super().changeform_view(*args, **kwargs))

    def changelist_view(self, *args: Any, **kwargs: Any) -> HttpResponse:
        with timezone.override(company_zone()):
            return _rendered(super().changelist_view(*args, **kwargs))


@admin.register(StandingSite)
class StandingSiteAdmin(ReadOnlyAdmin):
    list_display = ("name", "key", "organisation", "facility_kind", "sized_at", "review_due_on")
    list_select_related = ("organisation",)
    search_fields = ("name", "key")
