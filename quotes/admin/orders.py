"""Orders and bookings, to look at."""

from __future__ import annotations

from typing import Any

from django.contrib import admin
from django.http import HttpRequest

from quotes.models import Booking, Order, Quote


class ReadOnlyAdmin(admin.ModelAdmin):  # type: ignore[type-arg]
    """Nothing here is changed by hand: quotes and orders change through their own acts."""

    def has_add_permission(self, request: HttpRequest) -> bool:
        return False

    def has_change_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False

    def has_delete_permission(self, request: HttpRequest, obj: Any = None) -> bool:
        return False


@admin.register(Quote)
class QuoteAdmin(ReadOnlyAdmin):
    list_display = ("number", "state", "branch", "starts_on", "ends_on", "total", "valid_until")
    list_filter = ("state", "branch")
    list_select_related = ("request", "branch")
    search_fields = ("request__reference",)
    show_full_result_count = False


@admin.register(Order)
class OrderAdmin(ReadOnlyAdmin):
    list_display = ("number", "state", "made_at")
    search_fields = ("number",)


@admin.register(Booking)
class BookingAdmin(ReadOnlyAdmin):
    list_display = ("unit", "order", "starts_on", "ends_on", "free_on", "cancelled_at")
    list_filter = ("unit__branch", "unit__set_type")
    list_select_related = ("unit", "order")
    date_hierarchy = "starts_on"
