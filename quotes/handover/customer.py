"""The customer's pages of a hire under way."""

from __future__ import annotations

from datetime import date, datetime, timedelta
from decimal import Decimal
from functools import lru_cache
from typing import Any, NamedTuple
from uuid import uuid4

from django.db.models import Exists, OuterRef
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.safestring import SafeString
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from intake.models import HireRequest
from intake.prepared import A_KEY, Prepared
from intake.requests.errors import ServiceRefusal
from intake.views.access import holder_of_link
from quotes.acceptance.views import problems_of
from quotes.documents.facts import company_facts
from quotes.documents.retold import day_words, retold
from quotes.documents.typeset import pdf_response
from quotes.handover.changing import (
    WITH_ALL,
    Proposal,
    agreed_total,
    change_agree,
    change_propose,
    changes_of,
    hire_end,
)
from quotes.handover.errors import ChangeRefused
from quotes.handover.facts import statement_facts
from quotes.handover.forms import AgreeForm, DayForm, ReadingForm
from quotes.handover.pdf import handover_pdf
from quotes.handover.readings import Entered, reading_add
from quotes.handover.units import WITH_ALL as UNIT_WITH_ALL
from quotes.handover.units import today_at, token_link, unit_token
from quotes.models import Order, OrderState, OutUnit, Quote, Reading, SignOff, Statement
from quotes.offers.selectors import BRANCHES
from quotes.pricing.money import dollars
from quotes.pricing.sheet import Line


class UnitShown(NamedTuple):
    """One unit of an order as its page shows it."""

    pk: int
    number: str
    set_name: str
    generation: int
    ended_at: datetime | None
    end_reason: str
    signed: bool


class ReadingShown(NamedTuple):
    """One reading of a unit as the order's page shows it."""

    out_unit_id: int
    at: datetime
    engine_hours: Decimal
    fuel_percent: int
    by: str
    notes: list[list[str]]  # code and text of each


# What the page shows, and no more: the set's sizing and the prices' terms are not.
ORDERS = Prepared(
    lambda request: Order.objects.filter(request=request).only("number", "state", "quote"), A_KEY
)
QUOTES = Prepared(
    lambda pk: Quote.objects.filter(pk=pk).only("starts_on", "ends_on", "total", "branch"), A_KEY
)
STATEMENTS = Prepared(lambda order: Statement.objects.filter(order=order).values_list("pk"), A_KEY)
SIGNED = Exists(SignOff.objects.filter(out_unit=OuterRef("pk")))
UNITS = Prepared(
    lambda order: (
        OutUnit.objects.filter(order=order)
        .annotate(signed=SIGNED)
        .values_list(
            "pk",
            "unit__number",
            "unit__set_type__name",
            "generation",
            "ended_at",
            "end_reason",
            "signed",
        )
    ),
    A_KEY,
)
READINGS = Prepared(
    lambda order: Reading.objects.filter(out_unit__order=order).values_list(*ReadingShown._fields),
    A_KEY,
)


def order_of(hire_request: HireRequest) -> Order | None:
    """The order of a request, whole."""
    return Order.objects.select_related(*WITH_ALL).filter(request=hire_request).first()


def order_shown(hire_request: HireRequest) -> Order | None:
    """The order with what its own page shows."""
    order = ORDERS.first(hire_request.pk)
    if order is not None:
        order.quote = QUOTES.rows(order.quote_id)[0]
        order.quote.branch = BRANCHES.first(order.quote.branch_id or 0)
    return order


def units_out(order: Order) -> list[OutUnit]:
    """The order's units with what is known of each, those that are out first."""
    units = OutUnit.objects.filter(order=order).select_related(*UNIT_WITH_ALL)
    return list(units.prefetch_related("sign_offs__driver", "readings", "service_cases"))


@require_http_methods(["GET", "HEAD", "POST"])
@holder_of_link
def handover(web: HttpRequest, hire_request: HireRequest) -> HttpResponse:
    """Units, notes, a reading to enter, and the last day to change."""
    order = order_shown(hire_request)
    if order is None:
        return redirect("quotes:offer", reference=hire_request.reference)
    out = _asked_unit(web, order) if web.method == "POST" else None
    form = ReadingForm(web.POST) if out else None
    if out and form and form.is_valid() and _read(hire_request, out, form):
        return redirect("quotes:handover", reference=hire_request.reference)
    return _page(web, hire_request, order, form)


def _asked_unit(web: HttpRequest, order: Order) -> OutUnit | None:
    number = str(web.POST.get("unit", ""))
    return OutUnit.objects.filter(order=order, unit__number=number).first()


def _read(hire_request: HireRequest, out: OutUnit, form: ReadingForm) -> bool:
    said = hire_request.answers.filter(key="contact_name").values_list("value", flat=True).first()
    try:
        reading_add(
            out_unit_id=out.pk,
            entered=Entered(**form.cleaned_data),
            by=str(said or _("customer")),
            actor="customer",
            now=timezone.now(),
        )
    except ServiceRefusal as refusal:
        form.add_error("engine_hours", str(refusal))
        return False
    return True


def _page(
    web: HttpRequest, hire_request: HireRequest, order: Order, form: ReadingForm | None
) -> HttpResponse:
    """The page; ``form`` is a reading as it was sent and not kept."""
    units, changes = [UnitShown(*row) for row in UNITS.rows(order.pk)], changes_of(order)
    end, running = hire_end(order, changes), order.state == OrderState.CONFIRMED
    out = [one for one in units if one.ended_at is None]
    context = {
        "hire_request": hire_request,
        "order": order,
        "units": _units_out(order, out),
        "before": [one._asdict() for one in units if one.ended_at is not None],
        "last_day": day_words(end),
        "total": dollars(agreed_total(order, changes)),
        "changes": changes,
        "steps": day_steps(order, end, today_at(order.quote, timezone.now())) if running else [],
        "form": form,
        "fields": _fields_drawn(get_language()) if any(one.signed for one in out) else "",
        "client_key": uuid4(),
        "posted": str(web.POST.get("unit", "")),
        "problems": problems_of(form) if form else [],
        "statement": STATEMENTS.first(order.pk),
    }
    return render(web, "quotes/handover/customer.html", context, status=422 if form else 200)


@lru_cache(maxsize=8)
def _fields_drawn(language: str | None) -> SafeString:
    """The fields of a reading that nobody has begun: the same for everybody in a language."""
    return render_to_string("quotes/handover/fields.html", {"form": ReadingForm()})


def _units_out(order: Order, out: list[UnitShown]) -> list[dict[str, Any]]:
    """Units that are out, each with its readings and what the last one told."""
    readings = [ReadingShown(*row)._asdict() for row in READINGS.rows(order.pk)]
    rows = []
    for one in out:
        own = [reading for reading in readings if reading["out_unit_id"] == one.pk]
        rows.append(
            {
                "number": one.number,
                "set_name": retold(one.set_name),
                "signed": one.signed,
                "link": token_link(unit_token(order.number, one.number, one.generation)),
                "readings": own,
                "notes": [text for last in own[-1:] for _code, text in last["notes"]],
            }
        )
    return rows


def day_steps(order: Order, end: date, today: date) -> list[tuple[str, str]]:
    """Days a tap away: longer by a day, a week, four weeks; or over today, once it has begun."""
    assert order.quote.starts_on is not None
    steps = [
        (_("One day longer"), end + timedelta(days=1)),
        (_("One week longer"), end + timedelta(days=7)),
        (_("Four weeks longer"), end + timedelta(days=28)),
    ]
    if order.quote.starts_on <= today < end:
        steps.append((_("We are done today"), today))
    return [(label, day.isoformat()) for label, day in steps]


@require_http_methods(["GET", "HEAD", "POST"])
@holder_of_link
def change(web: HttpRequest, hire_request: HireRequest) -> HttpResponse:
    """The new price of another last day, and the button that agrees to it."""
    order = order_of(hire_request)
    asked = DayForm(web.POST if web.method == "POST" else web.GET)
    if order is None or not asked.is_valid():
        return redirect("quotes:handover", reference=hire_request.reference)
    to_end, refused = asked.cleaned_data["to"], ""
    form = AgreeForm(web.POST) if web.method == "POST" else None
    if form is not None and form.is_valid():
        refused = _agreed(order, form)
        if not refused:
            return redirect("quotes:handover", reference=hire_request.reference)
    return _change_page(web, hire_request, order, to_end, form, refused)


def _agreed(order: Order, form: AgreeForm) -> str:
    data = form.cleaned_data
    try:
        change_agree(
            order_id=order.pk,
            to_end=data["to"],
            difference=data["difference"],
            name=data["name"],
            client_key=data["client_key"],
            now=timezone.now(),
        )
    except ServiceRefusal as refusal:
        return str(refusal)
    return ""


def _change_page(
    web: HttpRequest,
    hire_request: HireRequest,
    order: Order,
    to_end: date,
    form: AgreeForm | None,
    refused: str,
) -> HttpResponse:
    proposal: Proposal | None = None
    try:
        proposal = change_propose(order=order, to_end=to_end, now=timezone.now())
    except ChangeRefused as refusal:
        refused = refused or str(refusal)
    bound = form is not None and not form.is_valid()
    fresh = AgreeForm(initial=_shown(order, proposal)) if proposal else None
    context: dict[str, Any] = {
        "hire_request": hire_request,
        "order": order,
        "company": company_facts(order.quote),
        "proposal": proposal,
        "lines": [_line_said(line) for line in proposal.lines] if proposal else [],
        "day": day_words(to_end),
        "charged": day_words(proposal.charged_to) if proposal else "",
        "now_total": dollars(agreed_total(order)),
        "new_total": dollars(proposal.total) if proposal else "",
        "difference": dollars(proposal.difference) if proposal else "",
        "refused": retold(refused),
        "form": form if bound else fresh,
        "problems": problems_of(form) if bound and form else [],
    }
    status = 409 if refused else 422 if bound else 200
    return render(web, "quotes/handover/change.html", context, status=status)


def _line_said(line: Line) -> dict[str, Any]:
    return {"label": retold(line.label), "amount": line.amount, "why": retold(line.why)}


def _shown(order: Order, proposal: Proposal) -> dict[str, Any]:
    return {
        "to": proposal.to_end,
        "difference": proposal.difference,
        "name": order.acceptance.name,
    }


@require_safe
@holder_of_link
def statement(web: HttpRequest, hire_request: HireRequest) -> HttpResponse:
    """The final statement as a PDF."""
    order = order_of(hire_request)
    made = getattr(order, "statement", None)
    if made is None:
        return redirect("quotes:handover", reference=hire_request.reference)
    content = handover_pdf("statement", statement_facts(made), made_at=made.made_at)
    return pdf_response(content, f"statement-{made.order.number}")
