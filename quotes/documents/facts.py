"""What a quote says, once, for the page and for the PDF alike."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from functools import lru_cache
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from intake.prepared import Prepared, related_rows
from intake.questions.caution_words import caution_words
from intake.questions.finding_words import finding_words
from intake.requests.selectors import ANSWERS
from quotes.documents.drawing import load_chart, one_line_diagram
from quotes.documents.retold import day_words, in_english, retold, retold_all
from quotes.documents.rows import RunShown, lines_of, run_shown, steps_of, taxes_of
from quotes.documents.wording import check_labels, figure, plain_words, why_this_set
from quotes.models import Branch, HireCompany, Quote
from quotes.pricing.money import dollars
from quotes.pricing.period import hire_days
from sizing.cautions import cautions
from sizing.places import place

Facts = dict[str, Any]

COMPANY = Prepared(lambda: HireCompany.objects.order_by("pk")[:1])


def quote_facts(quote: Quote) -> Facts:
    """All facts of a quote, money and dates already written."""
    return {
        **page_facts(quote),
        "company": company_facts(quote),
        "customer": customer_facts(quote),
    }


def page_facts(quote: Quote) -> Facts:
    """What the customer's pages show of them: not who the customer is, nor the owner's name."""
    return {
        **_shown_on_both(quote),
        "steps": retold_all([step_facts(step) for step in steps_of(quote)]),
        "options": retold_all(option_facts(quote)),
    }


def paper_facts(quote: Quote) -> Facts:
    """What the PDF shows of them: not each step of the price, nor what else could be chosen."""
    return {
        **_shown_on_both(quote),
        "company": company_facts(quote),
        "customer": customer_facts(quote),
    }


def _shown_on_both(quote: Quote) -> Facts:
    assert quote.branch is not None
    assert quote.valid_until is not None
    run = run_shown(quote)
    valid_day, valid_time = _day_and_time(quote.valid_until, quote.branch.timezone)
    return {
        "number": quote.number,
        "reference": quote.request.reference,
        "revision": quote.revision,
        "reason": retold(quote.reason),
        "company": branch_facts(quote.branch),
        "site": _site(run.requirement),
        "dates": date_facts(quote),
        "valid_until": f"{valid_day}, {valid_time}",
        "valid_day": valid_day,
        "valid_time": valid_time,
        "headline": retold(headline(run.option)),
        "sets": retold_all(set_facts(run.option)),
        **engineering_facts(run),
        **retold_all(money_facts(quote)),
        "source_note": retold(quote.content["source"].get("note", "")),
        "terms_version": quote.terms_version,
        "terms": quote.card.terms_text if quote.card else "",
    }


def company_facts(quote: Quote) -> Facts:
    """The owner, and the branch that sends the set."""
    company, branch = COMPANY.first(), quote.branch
    assert branch is not None
    return {
        "name": company.name if company else branch.name,
        "address": company.address if company else "",
        **branch_facts(branch),
    }


def branch_facts(branch: Branch) -> Facts:
    """How to reach the branch that sends the set."""
    return {
        "email": branch.email,
        "branch": branch.name,
        "phone": branch.phone,
        "phone_link": "+1" + "".join(filter(str.isdigit, branch.phone))[-10:],
        "emergency_phone": branch.emergency_phone,
    }


def customer_facts(quote: Quote) -> Facts:
    """Who asked, as far as the answers say."""
    rows = related_rows(quote.request, "answers", ANSWERS)
    answers = {row.key: row.value for row in rows if row.value}
    return {
        "name": str(answers.get("contact_name", "")),
        "company": str(answers.get("company", "")),
        "email": str(answers.get("email", "")),
        "phone": str(answers.get("phone", "")),
    }


def site_facts(quote: Quote) -> Facts:
    return _site(quote.run.requirement)


def _site(requirement: Facts) -> Facts:
    site = place(requirement["site"]["zip"])
    return {"zip": site.zip, "city": site.city, "state": site.state}


def date_facts(quote: Quote) -> Facts:
    assert quote.starts_on is not None
    assert quote.ends_on is not None
    days = hire_days(quote.starts_on, quote.ends_on)
    return {
        "start": day_words(quote.starts_on),
        "end": day_words(quote.ends_on),
        "days": retold("1 day" if days == 1 else f"{days} days"),
    }


def moment(at: datetime, zone: str) -> str:
    """A moment in the branch's own time: ``Wed 9 Dec 2026, 23:59 MST``."""
    return ", ".join(_day_and_time(at, zone))


def _day_and_time(at: datetime, zone: str) -> tuple[str, str]:
    local = at.astimezone(ZoneInfo(zone))
    return day_words(local.date()), f"{local:%H:%M %Z}"


def headline(option: Facts) -> str:
    """The sets in one line: ``60 kW towable set at 480Y/277 V``."""
    parts = [
        f"{one['quantity']} x {one['name']}" if one["quantity"] > 1 else str(one["name"])
        for one in option["sets"]
    ]
    return f"{' + '.join(parts)} at {option['supply']} V"


def set_facts(option: Facts) -> list[Facts]:
    return [
        {"code": one["code"], "name": one["name"], "quantity": one["quantity"],
         "supply": one.get("supply") or option["supply"]}
        for one in option["sets"]
    ]  # fmt: skip


def engineering_facts(run: RunShown) -> Facts:
    """Why this set, its checks, accessories, findings, cautions and drawings."""
    option, demand = run.option, run.demand or {}
    hourly_kw = (demand.get("duty") or {}).get("hourly_kw") or []
    return {
        "why": retold_all(why_this_set(option, demand)),
        "checks": check_facts(option["checks"]),
        "accessories": retold_all([accessory_facts(one) for one in option["accessories"]]),
        "assumptions": _findings(run, "note"),
        "warnings": _findings(run, "warning"),
        "reviewed": _findings(run, "needs_person"),
        "cautions": list(_cautions_said(get_language())),
        "diagram": one_line_diagram(option, demand),
        "chart": load_chart(hourly_kw, option["site_kw"]) if hourly_kw else "",
    }


def _findings(run: RunShown, severity: str) -> list[str]:
    """Findings of one weight, each sentence once."""
    found = [one for one in run.findings if one["severity"] == severity]
    if in_english():
        return list(dict.fromkeys(str(one["detail"]) for one in found))
    names = [one["name"] for one in (run.demand or {}).get("loads", [])]
    return list(dict.fromkeys(_finding_said(one, names) for one in found))


def _finding_said(one: Facts, names: list[str]) -> str:
    """In the words of its code and of which equipment; in English it says its figures instead."""
    detail = str(one["detail"])
    words, about = finding_words(one["code"], detail), detail.partition(": ")[0]
    return f"{about}: {words}" if about in names else words


@lru_cache(maxsize=8)
def _cautions_said(language: str | None) -> tuple[str, ...]:
    """The usual cautions, the same on every quote in a language."""
    return tuple(caution_words(caution.code) for caution in cautions())


def check_facts(checks: Sequence[Facts]) -> list[Facts]:
    labels, both = check_labels(get_language()), _("required %(required)s, provided %(provided)s")
    figures = retold_all(
        [[figure(one[side], one["unit"]) for side in ("required", "provided")] for one in checks]
    )
    return [
        {
            "label": labels.get(check["name"]) or plain_words(check["name"]),
            "required": required,
            "provided": provided,
            "figures": both % {"required": required, "provided": provided},
            "passed": bool(check["passed"]),
            "binding": bool(check.get("binding", True)),
        }
        for check, (required, provided) in zip(checks, figures, strict=True)
    ]


def accessory_facts(one: Facts) -> Facts:
    length_m = one.get("length_m")
    return {
        "name": str(one["code"]).replace("_", " "),
        "quantity": one["quantity"],
        "length": f"{length_m / 0.3048:.0f} ft" if length_m else "",
        "rating": one.get("rating", ""),
        "why": one.get("why", ""),
    }


def money_facts(quote: Quote) -> Facts:
    """Lines, taxes and sums as written, and how the period and the hours were priced."""
    steps, lines = steps_of(quote), lines_of(quote)
    set_codes = {line.code for line in lines if line.kind == "hire"}
    return {
        "lines": [line_facts(line) for line in lines],
        "taxes": [tax_facts(tax) for tax in taxes_of(quote)],
        "net": dollars(quote.net),
        "tax": dollars(quote.tax),
        "total": dollars(quote.total),
        "deposit": dollars(quote.deposit) if quote.deposit else "",
        "period": [step.reason for step in steps if step.line in {"period", *set_codes}],
    }


def line_facts(line: Any) -> Facts:
    quantity = f"{line.quantity.normalize():f}"
    return {
        "label": line.label,
        "why": line.why,
        "quantity": f"{quantity} {line.unit}".strip(),
        "unit_price": dollars(line.unit_price),
        "amount": dollars(line.amount),
        "kind": line.kind,
    }


def tax_facts(tax: Any) -> Facts:
    percent = f"{tax.percent.normalize():f}"
    exempt = f"exempt, certificate {tax.exempt}" if tax.exempt else ""
    return {
        "label": f"{tax.name}, {percent} % of {dollars(tax.base)}",
        "why": exempt or f"on {tax.line_kinds}",
        "amount": dollars(tax.amount),
    }


def step_facts(step: Any) -> Facts:
    amount = "" if step.amount is None else dollars(step.amount)
    return {
        "line": step.line,
        "label": step.label,
        "working": step.working,
        "amount": amount,
        "reason": step.reason,
    }


def option_facts(quote: Quote) -> list[Facts]:
    """The options with prices, the one of this quote marked."""
    chosen = quote.content["source"]["option"]
    return [
        {**one, "chosen": one["index"] == chosen, "total": dollars(Decimal(one["total"])),
         "named": " + ".join(f"{s['quantity']} x {s['name']}" for s in one["sets"])}
        for one in quote.content.get("options", [])
    ]  # fmt: skip
