"""The customer's pages of a hire under way."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django.db.models import Exists, OuterRef
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
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
from quotes.handover.units import today_at, unit_link
from quotes.models import Order, OrderState, OutUnit, Quote, SignOff, Statement
from quotes.offers.selectors import BRANCHES
from quotes.pricing.money import dollars
from quotes.pricing.sheet import Line

ORDERS = Prepared(lambda request: Order.objects.filter(request=request), A_KEY)
QUOTES = Prepared(lambda pk: Quote.objects.filter(pk=pk), A_KEY)
STATEMENTS = Prepared(lambda order: Statement.objects.filter(order=order), A_KEY)


def order_of(hire_request: HireRequest) -> Order | None:
    """The order of a request, whole."""
    return Order.objects.select_related(*WITH_ALL).filter(request=hire_request).first()


def order_shown(hire_request: HireRequest) -> Order | None:
    """The order with what its own page shows: the set's sizing and the prices' terms are not."""
    order = ORDERS.first(hire_request.pk)
    if order is not None:
        order.quote = QUOTES.rows(order.quote_id)[0]
        order.quote.branch = BRANCHES.first(order.quote.branch_id or 0)
        order._state.fields_cache["statement"] = STATEMENTS.first(order.pk)
    return order


def units_shown(order: Order) -> list[OutUnit]:
    """The order's units with their readings, and whether each was signed for."""
    signed = Exists(SignOff.objects.filter(out_unit=OuterRef("pk")))
    units = order.out_units.select_related("unit__set_type").annotate(signed=signed)
    return list(units.prefetch_related("readings"))


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
    form = ReadingForm(web.POST) if web.method == "POST" and out else ReadingForm()
    if out and form.is_bound and form.is_valid() and _read(hire_request, out, form):
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
    web: HttpRequest, hire_request: HireRequest, order: Order, form: ReadingForm
) -> HttpResponse:
    units, changes = units_shown(order), changes_of(order)
    end, running = hire_end(order, changes), order.state == OrderState.CONFIRMED
    context = {
        "hire_request": hire_request,
        "order": order,
        "units": [
            {"out": one, "link": unit_link(one), "notes": _last_notes(one)}
            for one in units
            if one.ended_at is None
        ],
        "before": [one for one in units if one.ended_at is not None],
        "last_day": day_words(end),
        "total": dollars(agreed_total(order, changes)),
        "changes": changes,
        "steps": day_steps(order, end, today_at(order.quote, timezone.now())) if running else [],
        "day_form": DayForm(),
        "form": form,
        "posted": str(web.POST.get("unit", "")),
        "problems": problems_of(form) if form.is_bound else [],
        "statement": getattr(order, "statement", None),
        "running": running,
    }
    status = 422 if form.is_bound else 200
    return render(web, "quotes/handover/customer.html", context, status=status)


def _last_notes(out: OutUnit) -> list[str]:
    last = list(out.readings.all())[-1:]
    return [text for one in last for _code, text in one.notes]


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
