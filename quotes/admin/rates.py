"""Rate pages of the admin."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django import forms
from django.contrib import admin, messages
from django.db.models import QuerySet
from django.http import HttpRequest, HttpResponse
from django.template.response import TemplateResponse
from django.urls import URLPattern, path
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from quotes.admin.recorded import RecordedAdmin, inline_changes, record_change
from quotes.admin.tables import TableAdmin
from quotes.models import (
    CardFee,
    DeclaredEmergency,
    DeliveryVehicle,
    ExemptionCertificate,
    Rate,
    RateCard,
    TaxRule,
)
from quotes.rates.comparing import QUOTES_COMPARED, cards_compare
from quotes.rates.services import card_copy


class CardFeeInline(admin.TabularInline):  # type: ignore[type-arg]
    model = CardFee
    extra = 0


class DeliveryVehicleInline(admin.TabularInline):  # type: ignore[type-arg]
    model = DeliveryVehicle
    extra = 0


class CompareForm(forms.Form):
    """Two cards to price the last quotes with."""

    first = forms.ModelChoiceField(RateCard.objects.all(), label=_("Card"))
    second = forms.ModelChoiceField(RateCard.objects.all(), label=_("Against"))


@admin.register(RateCard)
class RateCardAdmin(RecordedAdmin):
    list_display = ("name", "code", "branch", "valid_from", "valid_until", "in_use")
    list_filter = ("in_use", "branch")
    inlines = (CardFeeInline, DeliveryVehicleInline)
    actions = ("copy_cards",)
    change_list_template = "quotes/admin/card_list.html"
    fieldsets = (
        (None, {"fields": ("code", "name", "branch", "valid_from", "valid_until", "in_use")}),
        (
            _("Period"),
            {
                "fields": (
                    "minimum_days", "sundays_free", "holidays_free", "holidays_kept",
                    "off_hire_cutoff",
                )
            },
        ),
        (
            _("Engine hours"),
            {
                "fields": (
                    "day_hours", "week_hours", "four_week_hours", "double_factor", "triple_factor",
                )
            },
        ),
        (_("Delivery"), {"fields": ("road_factor",)}),
        (
            _("Offer"),
            {
                "fields": (
                    "valid_days", "adjustment_limit_percent", "larger_at_asked_price",
                    "terms_version", "terms_text",
                )
            },
        ),
    )  # fmt: skip

    def save_formset(self, request: HttpRequest, form: Any, formset: Any, change: bool) -> None:
        super().save_formset(request, form, formset, change)
        record_change(request, form.instance, inline_changes(formset))

    @admin.action(description=_("Copy as a card not yet in use"), permissions=["add"])
    def copy_cards(self, request: HttpRequest, queryset: QuerySet[RateCard]) -> None:
        for card in queryset:
            start = (card.valid_until or timezone.now().date()) + timedelta(days=1)
            made = card_copy(card=card, valid_from=start)
            record_change(request, made, f"copied from {card.code}")
            messages.success(request, _("Copied as %s.") % made.code)

    def get_urls(self) -> list[URLPattern]:
        own = path(
            "compare/", self.admin_site.admin_view(self.compare), name="quotes_ratecard_compare"
        )
        return [own, *super().get_urls()]

    def compare(self, request: HttpRequest) -> HttpResponse:
        """The last quotes, priced again with two cards."""
        form = CompareForm(request.GET or None)
        compared = None
        if form.is_valid():
            compared = cards_compare(form.cleaned_data["first"], form.cleaned_data["second"])
        context = {
            **self.admin_site.each_context(request),
            "title": _("Price this again"),
            "opts": self.opts,
            "form": form,
            "compared": compared,
            "most": QUOTES_COMPARED,
        }
        return TemplateResponse(request, "quotes/admin/compare.html", context)


@admin.register(Rate)
class RateAdmin(TableAdmin):
    table_name = "rates"
    list_display = ("item_code", "card", "day", "week", "four_weeks", "once")
    list_filter = ("card",)
    list_select_related = ("card",)
    search_fields = ("item_code",)


@admin.register(CardFee)
class CardFeeAdmin(TableAdmin):
    table_name = "fees"
    list_display = ("code", "card", "amount", "quantity", "minimum", "cap")
    list_filter = ("card",)
    list_select_related = ("card",)


@admin.register(DeliveryVehicle)
class DeliveryVehicleAdmin(TableAdmin):
    table_name = "vehicles"
    list_display = ("name", "card", "tows_kg", "trip", "mile", "included_miles")
    list_filter = ("card",)
    list_select_related = ("card",)


@admin.register(TaxRule)
class TaxRuleAdmin(TableAdmin):
    table_name = "taxes"
    list_display = ("name", "state", "zip_prefix", "line_kind", "percent", "valid_from")
    list_filter = ("state", "line_kind")


@admin.register(ExemptionCertificate)
class ExemptionCertificateAdmin(RecordedAdmin):
    list_display = ("number", "organisation", "state", "valid_from", "valid_until")
    list_select_related = ("organisation",)


@admin.register(DeclaredEmergency)
class DeclaredEmergencyAdmin(RecordedAdmin):
    list_display = ("name", "state", "valid_from", "valid_until")
