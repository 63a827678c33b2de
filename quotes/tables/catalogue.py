"""The tables an owner can take out and bring back as CSV."""

from __future__ import annotations

from django.db import models

from quotes.models import (
    AccessoryType,
    Branch,
    CardFee,
    DeliveryVehicle,
    Rate,
    RateCard,
    SetType,
    TaxRule,
    Unit,
)
from quotes.tables.table import Table

CARD: dict[str, type[models.Model]] = {"card": RateCard}

TABLES: dict[str, Table] = {
    table.name: table
    for table in (
        Table("rates", Rate, ("card", "item_code", "day", "week", "four_weeks", "once"),
              ("card", "item_code"), CARD),
        Table("fees", CardFee, ("card", "code", "amount", "quantity", "minimum", "cap"),
              ("card", "code"), CARD),
        Table("vehicles", DeliveryVehicle,
              ("card", "code", "name", "tows_kg", "trip", "mile", "included_miles"),
              ("card", "code"), CARD),
        Table("taxes", TaxRule,
              ("name", "state", "zip_prefix", "line_kind", "percent", "valid_from", "valid_until"),
              ("name", "state", "zip_prefix", "line_kind", "valid_from")),
        Table("units", Unit,
              ("number", "set_type", "branch", "state", "engine_hours", "note"), ("number",),
              {"set_type": SetType, "branch": Branch}),
        Table("accessories", AccessoryType, ("code", "name", "section_m"), ("code",)),
    )
}  # fmt: skip
