"""Agreed emergency terms on file: no uplift beyond them."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from intake.models import Organisation
from quotes.models import AgreedTerms, CardFee, RateCard
from quotes.pricing.terms import FeeCode, Terms
from quotes.rates.selectors import terms_for
from tests.quotes.cast import NOW

DAY = date(2027, 6, 1)


@pytest.fixture
def organisation(company: None) -> Organisation:
    return Organisation.objects.create(name="Alder County", public_body=True, created_at=NOW)


def agreed(organisation: Organisation, cap: str, **dates: date) -> AgreedTerms:
    return AgreedTerms.objects.create(
        organisation=organisation,
        valid_from=dates.get("valid_from", DAY - timedelta(days=30)),
        valid_until=dates.get("valid_until", DAY + timedelta(days=300)),
        uplift_cap_percent=Decimal(cap),
        signed_by="Nia Demo",
        document_reference="AC-2026-7",
    )


def terms(organisation: Organisation | None) -> Terms:
    card = RateCard.objects.order_by("pk")[0]
    fee = CardFee.objects.filter(code=FeeCode.EMERGENCY_UPLIFT, card=card)
    if not fee.update(amount=Decimal(15), minimum=Decimal(50), cap=Decimal(900)):
        CardFee.objects.create(
            card=card, code=FeeCode.EMERGENCY_UPLIFT, amount=15, minimum=50, cap=900
        )
    return terms_for(
        card=card, zip_code="80701", state="CO", starts_on=DAY, organisation=organisation
    )


def uplift(found: Terms) -> Decimal:
    return found.fees[FeeCode.EMERGENCY_UPLIFT].amount


def test_the_agreed_cap_holds_the_uplift_down_and_says_so(organisation: Organisation) -> None:
    agreed(organisation, "8")
    found = terms(organisation)
    assert uplift(found) == 8
    assert found.fees[FeeCode.EMERGENCY_UPLIFT].minimum is None
    assert found.emergency_agreed == "No more than agreed: 8 % of the hire (AC-2026-7)."


def test_a_cap_above_the_card_changes_nothing(organisation: Organisation) -> None:
    agreed(organisation, "20")
    found = terms(organisation)
    assert (uplift(found), found.emergency_agreed) == (15, "")


@pytest.mark.parametrize(
    ("dates", "percent"),
    [
        ({"valid_until": DAY - timedelta(days=1)}, 15),
        ({"valid_until": DAY}, 8),
        ({"valid_from": DAY}, 8),
        ({"valid_from": DAY + timedelta(days=1)}, 15),
    ],
)
def test_holds_on_its_days(
    organisation: Organisation, dates: dict[str, date], percent: int
) -> None:
    agreed(organisation, "8", **dates)
    assert uplift(terms(organisation)) == percent


def test_of_two_agreements_the_lower_cap_counts(organisation: Organisation) -> None:
    agreed(organisation, "10")
    agreed(organisation, "6")
    assert uplift(terms(organisation)) == 6


def test_is_nobody_elses(organisation: Organisation) -> None:
    agreed(organisation, "8")
    other = Organisation.objects.create(name="Birch Works", created_at=NOW)
    assert uplift(terms(other)) == 15
    assert uplift(terms(None)) == 15
