"""The demo's company from its files: loading twice changes nothing."""

from __future__ import annotations

import json
from datetime import datetime
from typing import Any

from demo_fixtures import FOLDER
from intake.models import Organisation
from quotes.fleet.services import fleet_import
from quotes.models import (
    Branch,
    CardFee,
    DeliveryVehicle,
    ExemptionCertificate,
    HireCompany,
    RateCard,
    TaxRule,
)
from quotes.tables.catalogue import TABLES
from quotes.tables.reading import table_import

Document = dict[str, Any]


def company_document() -> Document:
    """The company as its file says."""
    document: Document = json.loads((FOLDER / "company" / "company.json").read_text("utf-8"))
    return document


def company_load(*, now: datetime) -> None:
    """Branches, fleet, rate cards with their fees and vehicles, taxes, the organisations."""
    document = company_document()
    HireCompany.objects.update_or_create(
        name=document["company"]["name"], defaults=document["company"]
    )
    for branch in document["branches"]:
        Branch.objects.update_or_create(code=branch["code"], defaults=branch)
    fleet_import(text=(FOLDER / "fleet.csv").read_text("utf-8"))
    for card in document["cards"]:
        _card_load(card, document)
    for name in ("accessories", "rates", "units"):
        table_import(TABLES[name], (FOLDER / "company" / f"{name}.csv").read_text("utf-8"))
    for tax in document["taxes"]:
        _tax_load(tax)
    for organisation in document["organisations"]:
        _organisation_load(organisation, now)


def _card_load(card: Document, document: Document) -> None:
    made, _new = RateCard.objects.update_or_create(
        code=card["code"], defaults={**card, "terms_text": document["terms_text"]}
    )
    for fee in document["fees"]:
        CardFee.objects.update_or_create(card=made, code=fee["code"], defaults=fee)
    for vehicle in document["vehicles"]:
        DeliveryVehicle.objects.update_or_create(card=made, code=vehicle["code"], defaults=vehicle)


def _tax_load(tax: Document) -> None:
    rest = {name: value for name, value in tax.items() if name != "line_kinds"}
    percent = rest.pop("percent")
    for kind in tax["line_kinds"]:
        TaxRule.objects.update_or_create(**rest, line_kind=kind, defaults={"percent": percent})


def _organisation_load(document: Document, now: datetime) -> None:
    organisation, _new = Organisation.objects.get_or_create(
        name=document["name"],
        defaults={
            "public_body": document["public_body"],
            "email_domain": document["email_domain"],
            "created_at": now,
        },
    )
    certificate = document["certificate"]
    ExemptionCertificate.objects.update_or_create(
        organisation=organisation, number=certificate["number"], defaults=certificate
    )
