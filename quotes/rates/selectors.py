"""Reading rate cards as the terms that pricing takes."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal

from django.db.models import Q

from intake.models import Organisation
from intake.prepared import A_DAY, A_KEY, Prepared
from quotes.models import (
    AccessoryType,
    AgreedTerms,
    Branch,
    CardFee,
    DeclaredEmergency,
    DeliveryVehicle,
    ExemptionCertificate,
    Rate,
    RateCard,
    TaxRule,
)
from quotes.pricing import period, shift, terms
from quotes.rates.errors import NoRateCard

FEES = Prepared(
    lambda card_id: CardFee.objects.filter(card_id=card_id).values_list(
        "code", "amount", "minimum", "cap", "quantity"
    ),
    A_KEY,
)
RATES = Prepared(
    lambda card_id: Rate.objects.filter(card_id=card_id).values_list(
        "item_code", "day", "week", "four_weeks", "once"
    ),
    A_KEY,
)
VEHICLES = Prepared(
    lambda card_id: DeliveryVehicle.objects.filter(card_id=card_id).values_list(
        "code", "name", "tows_kg", "trip", "mile", "included_miles"
    ),
    A_KEY,
)
CARDS = Prepared(
    lambda branch_id, day: RateCard.objects.filter(
        Q(branch_id=branch_id) | Q(branch=None), valid_on(day), in_use=True
    ).order_by("-valid_from"),
    A_KEY,
    A_DAY,
)
TAXES = Prepared(
    lambda state, day, *prefixes: TaxRule.objects.filter(
        valid_on(day), state=state, zip_prefix__in=["", *prefixes]
    ).values_list("name", "line_kind", "percent"),
    "a state",
    A_DAY,
    *(f"a ZIP cut to {length}" for length in range(1, 6)),
)
SECTIONS = Prepared(lambda: AccessoryType.objects.order_by().values_list("code", "section_m"))
EMERGENCIES = Prepared(
    lambda state, day: DeclaredEmergency.objects.filter(valid_on(day), state=state).order_by("pk")[
        :1
    ],
    "a state",
    A_DAY,
)


def card_for(*, branch: Branch, on: date) -> RateCard:
    """The card in use at a branch on a day: its own first, else the company's."""
    found = CARDS.rows(branch.pk, on)
    if not found:
        raise NoRateCard(f"No rate card is in use at {branch} on {on:%d %b %Y}.")
    return next((card for card in found if card.branch_id), found[0])


def valid_on(day: date) -> Q:
    """Rows whose validity holds a day."""
    return Q(valid_from__lte=day) & (Q(valid_until__isnull=True) | Q(valid_until__gte=day))


def terms_for(
    *,
    card: RateCard,
    zip_code: str,
    state: str,
    starts_on: date,
    organisation: Organisation | None,
) -> terms.Terms:
    """A card with the taxes, certificates and declared emergencies of the place, for pricing."""
    fees = _fees(card)
    agreed = agreed_for(organisation, starts_on)
    return terms.Terms(
        card=card.name,
        rates=_rates(card),
        fees=fees_agreed(fees, agreed),
        vehicles=_vehicles(card),
        taxes=_taxes(zip_code, state, starts_on),
        exemption=_exemption(organisation, state, starts_on),
        shift=_shift(card),
        section_m=_sections(),
        minimum_days=card.minimum_days,
        road_factor=card.road_factor,
        sundays_free=card.sundays_free,
        holidays_free=card.holidays_free,
        holidays_kept=tuple(card.holidays_kept),
        off_hire_cutoff=card.off_hire_cutoff,
        emergency_barred=emergency_barred(state, starts_on),
        emergency_agreed=_agreed_sentence(fees, agreed),
        valid_days=card.valid_days,
    )


def emergency_barred(state: str, on: date) -> str:
    """Why emergency terms may not be charged in a state on a day; empty where they may."""
    found = EMERGENCIES.first(state, on)
    if found is None:
        return ""
    return f"Not charged in {state} while this is declared: {found.name}."


def agreed_for(organisation: Organisation | None, on: date) -> AgreedTerms | None:
    """The emergency terms on file with an organisation on a day; of several the lowest cap."""
    if organisation is None:
        return None
    found = AgreedTerms.objects.filter(valid_on(on), organisation=organisation)
    return found.order_by("uplift_cap_percent", "pk").first()


def fees_agreed(fees: dict[str, terms.Fee], agreed: AgreedTerms | None) -> dict[str, terms.Fee]:
    """Fees with the uplift no higher than agreed; what the card charges less stays less.

    The card's least amount falls with it: a bound may not bring back what was agreed away.
    """
    uplift = fees.get(terms.FeeCode.EMERGENCY_UPLIFT)
    if agreed is None or uplift is None or uplift.amount <= agreed.uplift_cap_percent:
        return fees
    held = replace(uplift, amount=agreed.uplift_cap_percent, minimum=None)
    return {**fees, terms.FeeCode.EMERGENCY_UPLIFT: held}


def _agreed_sentence(fees: dict[str, terms.Fee], agreed: AgreedTerms | None) -> str:
    if agreed is None or fees_agreed(fees, agreed) is fees:
        return ""
    percent = agreed.uplift_cap_percent.normalize()
    return f"No more than agreed: {percent:f} % of the hire ({agreed.document_reference})."


def _rates(card: RateCard) -> dict[str, period.Rate]:
    return {
        code: period.Rate(day, week, four_weeks, once)
        for code, day, week, four_weeks, once in RATES.rows(card.pk)
    }


def _fees(card: RateCard) -> dict[str, terms.Fee]:
    return {
        code: terms.Fee(amount, minimum, cap, quantity)
        for code, amount, minimum, cap, quantity in FEES.rows(card.pk)
    }


def _vehicles(card: RateCard) -> tuple[terms.Vehicle, ...]:
    return tuple(terms.Vehicle(*row) for row in VEHICLES.rows(card.pk))


def _taxes(zip_code: str, state: str, on: date) -> tuple[terms.Tax, ...]:
    """Taxes of a place on a day, state-wide ones first."""
    prefixes = (zip_code[:length] for length in range(1, 6))
    return tuple(terms.Tax(*row) for row in TAXES.rows(state, on, *prefixes))


def _shift(card: RateCard) -> shift.ShiftRule:
    return shift.ShiftRule(
        card.day_hours,
        card.week_hours,
        card.four_week_hours,
        card.double_factor,
        card.triple_factor,
    )


def _sections() -> dict[str, Decimal]:
    return {code: section_m for code, section_m in SECTIONS.rows() if section_m is not None}


def _exemption(organisation: Organisation | None, state: str, on: date) -> terms.Exemption | None:
    if organisation is None:
        return None
    found = ExemptionCertificate.objects.filter(
        organisation=organisation, state=state, valid_from__lte=on, valid_until__gte=on
    ).first()
    return terms.Exemption(found.number, frozenset(found.line_kinds)) if found else None
