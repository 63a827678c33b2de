"""Fleet pages of the admin."""

from __future__ import annotations

from django.contrib import admin

from quotes.admin.recorded import RecordedAdmin
from quotes.admin.tables import TableAdmin
from quotes.models import AccessoryType, Branch, HireCompany, SetType, Unit


@admin.register(HireCompany)
class HireCompanyAdmin(RecordedAdmin):
    list_display = ("name", "phone", "emergency_phone", "email")


@admin.register(Branch)
class BranchAdmin(RecordedAdmin):
    list_display = ("code", "name", "zip", "state", "phone", "turnaround_days", "trucks")


@admin.register(SetType)
class SetTypeAdmin(RecordedAdmin):
    list_display = ("code", "name", "prime_kw", "offered")
    list_filter = ("offered",)
    search_fields = ("code", "name")
    readonly_fields = ("name", "prime_kw")


@admin.register(Unit)
class UnitAdmin(TableAdmin):
    table_name = "units"
    list_display = ("number", "set_type", "branch", "state", "engine_hours")
    list_filter = ("branch", "state", "set_type")
    list_select_related = ("set_type", "branch")
    search_fields = ("number",)


@admin.register(AccessoryType)
class AccessoryTypeAdmin(TableAdmin):
    table_name = "accessories"
    list_display = ("code", "name", "section_m")
