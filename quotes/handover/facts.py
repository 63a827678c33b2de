"""What the sheets of a unit say, once, for the page and for the PDF."""

from __future__ import annotations

from typing import Any

from django.utils import translation

from intake.qr_code import qr_svg
from quotes.documents.facts import (
    accessory_facts,
    company_facts,
    customer_facts,
    date_facts,
    moment,
    site_facts,
)
from quotes.emergency.hookup import hook_up_of_order
from quotes.handover.card import start_card
from quotes.handover.checklist import DELIVERY, Group, checklist
from quotes.handover.triage import triage_graph
from quotes.handover.units import job_of_unit, option_of, unit_link
from quotes.models import OutUnit, SignOff, Statement
from quotes.pricing.money import dollars
from sizing.cautions import cautions

Facts = dict[str, Any]
PARTS = {"agreed": "As quoted and accepted", "changed": "Changed during the hire",
         "settled": "Settled on return"}  # fmt: skip


def head_facts(out: OutUnit) -> Facts:
    """Unit, order, company."""
    return {
        "order": out.order.number,
        "unit": out.unit.number,
        "set": out.unit.set_type.name,
        "supply": job_of_unit(out).words["supply"],
        "company": company_facts(out.order.quote),
    }


def sheet_facts(out: OutUnit) -> Facts:
    """The delivery sheet: what goes, where, to whom, and the checklist of this job."""
    quote = out.order.quote
    contacts = {row.key: row.value for row in quote.request.answers.all() if row.value}
    signed = out.sign_offs.filter(kind=DELIVERY).prefetch_related("ticks").first()
    return {
        **head_facts(out),
        "dates": date_facts(quote),
        "site": {**site_facts(quote), "contact": str(contacts.get("site_contact", ""))},
        "customer": customer_facts(quote),
        "accessories": [accessory_facts(one) for one in option_of(quote)["accessories"]],
        "hook_up": _hook_up(out),
        "groups": [_group(group, signed) for group in checklist(job_of_unit(out))],
        "signed": _signed(signed, quote.branch.timezone) if signed and quote.branch else None,
        "cautions": [caution.text for caution in cautions()],
    }


def _hook_up(out: OutUnit) -> Facts | None:
    """What the set connects to where it feeds a building, as the order says it."""
    with translation.override("en"):
        known = hook_up_of_order(out.order).get("hook_up")
        if known is None:
            return None
        asked = [["Still to ask", ", ".join(known.asked)]] if known.asked else []
        return {
            "rows": [*[list(row) for row in known.rows], *asked],
            "who": list(known.who),
            "parted": known.parted,
        }


def _group(group: Group, signed: SignOff | None) -> Facts:
    ticks = {tick.item_key: tick for tick in signed.ticks.all()} if signed else {}
    return {
        "title": group.title,
        "items": [
            {
                "text": item.text,
                "source": item.source,
                "must": item.must,
                "who": item.by,
                "done": bool(ticks[item.key].done) if item.key in ticks else False,
                "by": ticks[item.key].by if item.key in ticks and ticks[item.key].done else "",
            }
            for item in group.items
        ],
    }


def _signed(signed: SignOff, zone: str) -> Facts:
    return {
        "name": signed.name,
        "role": signed.role,
        "connector": signed.connector,
        "driver": signed.driver.get_full_name() or signed.driver.get_username(),
        "at": moment(signed.signed_at, zone),
        "hours": f"{signed.engine_hours}",
        "fuel": f"{signed.fuel_percent}",
        "note": signed.note,
    }


def card_facts(out: OutUnit) -> Facts:
    """The start card in both languages, with the code to the unit's page; nothing private."""
    job, link = job_of_unit(out), unit_link(out)
    emergency = triage_graph().ends["emergency"].text
    return {
        "unit": out.unit.number,
        "set": out.unit.set_type.name,
        "supply": job.words["supply"],
        "company": company_facts(out.order.quote),
        "link": link,
        "qr": qr_svg(link),
        "cards": [
            {
                "language": language,
                "emergency": emergency.said(job.words, language),
                "parts": [
                    {"key": part.key, "title": part.title, "steps": list(part.steps)}
                    for part in start_card(job, language)
                ],
            }
            for language in ("en", "es")
        ],
    }


def statement_facts(made: Statement) -> Facts:
    """The final statement as written."""
    quote = made.quote
    assert quote.branch is not None
    lines = list(made.lines.all())
    with translation.override("en"):
        parts = [
            {
                "title": title,
                "lines": [_line(line) for line in lines if line.part == part],
            }
            for part, title in PARTS.items()
        ]
    return {
        "order": made.order.number,
        "company": company_facts(quote),
        "customer": customer_facts(quote),
        "dates": date_facts(quote),
        "made_at": moment(made.made_at, quote.branch.timezone),
        "parts": [part for part in parts if part["lines"]],
        "taxes": [
            {"label": f"{tax['name']}, {float(tax['percent']):g} % of {tax['base']}",
             "why": f"exempt, certificate {tax['exempt']}" if tax["exempt"] else "",
             "amount": tax["amount"]}
            for tax in made.taxes
        ],
        "net": dollars(made.net),
        "total": dollars(made.total),
        "deposit": dollars(made.deposit),
        "due": dollars(abs(made.due)),
        "paid_back": made.due < 0,
    }  # fmt: skip


def _line(line: Any) -> Facts:
    return {
        "label": line.label,
        "quantity": f"{line.quantity.normalize():f} {line.unit}".strip(),
        "unit_price": dollars(line.unit_price),
        "amount": dollars(line.amount),
        "why": line.why,
    }
