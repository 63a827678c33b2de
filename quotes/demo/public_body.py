"""The demo's public body with its standing sites, taken in as its own page would take them."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.utils import translation

from intake.models import Organisation
from quotes.demo.company import company_document
from quotes.emergency.organisations.services import BodyContact, body_register
from quotes.emergency.sites.forms import LoadForm, SiteForm
from quotes.emergency.sites.services import site_save
from quotes.models import PublicBody, StandingSite

Document = dict[str, Any]


def public_bodies_load(*, now: datetime) -> list[str]:
    """Register the bodies and sites that are not there yet; return the names of all bodies."""
    bodies = [one for one in company_document()["organisations"] if "contact" in one]
    for document in bodies:
        organisation = Organisation.objects.get(name=document["name"])
        if not PublicBody.objects.filter(organisation=organisation).exists():
            contact = BodyContact(**document["contact"])
            body_register(organisation=organisation, contact=contact, now=now)
        there = set(organisation.standing_sites.values_list("key", flat=True))
        for site in document["sites"]:
            if site["key"] not in there:
                _site_load(organisation, site, now)
    return [document["name"] for document in bodies]


def _site_load(organisation: Organisation, document: Document, now: datetime) -> StandingSite:
    with translation.override("en"):
        form, rows = SiteForm(document), [LoadForm(load) for load in document["loads"]]
        wrong = [one.errors for one in (form, *rows) if not one.is_valid()]
    assert not wrong, wrong
    loads = [row.load() for row in rows]
    return site_save(organisation=organisation, fields=form.values(), loads=loads, now=now)
