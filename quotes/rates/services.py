"""Changing rate cards."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.db import transaction

from quotes.models import CardFee, DeliveryVehicle, Rate, RateCard


@transaction.atomic
def card_copy(*, card: RateCard, valid_from: date) -> RateCard:
    """A card with all its rates, fees and vehicles, not in use until the manager says so."""
    made = RateCard.objects.get(pk=card.pk)
    made.pk, made.in_use = None, False
    made.code = _free_code(card.code)
    made.name, made.valid_from, made.valid_until = f"{card.name}, copy", valid_from, None
    made._state.adding = True
    made.full_clean()
    made.save(force_insert=True)
    for model in (Rate, CardFee, DeliveryVehicle):
        rows: Any = list(model._default_manager.filter(card=card))
        for row in rows:
            row.pk, row.card = None, made
        model._default_manager.bulk_create(rows)
    return made


def _free_code(code: str) -> str:
    stem, number = code[:30], 2
    while RateCard.objects.filter(code=f"{stem}-copy{number}").exists():
        number += 1
    return f"{stem}-copy{number}"
