"""The desk's pages of what is out: the list, one order, sheets, swap, statement, help."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.db.models import Count, Q
from django.http import FileResponse, Http404, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from intake.desk.access import desk_page
from intake.requests.errors import ServiceRefusal
from quotes.acceptance.views import problems_of
from quotes.desk.selectors import quotes_of
from quotes.documents.facts import customer_facts
from quotes.documents.retold import day_words
from quotes.documents.typeset import pdf_response
from quotes.emergency.hookup import hook_up_of_order
from quotes.handover.asking import help_page
from quotes.handover.calls import service_case_close
from quotes.handover.changing import WITH_ALL, agreed_total, hire_end
from quotes.handover.customer import units_out
from quotes.handover.errors import StatementRefused
from quotes.handover.facts import card_facts, sheet_facts, statement_facts
from quotes.handover.forms import ChargeForm, StaffReadingForm, SwapForm
from quotes.handover.pdf import handover_pdf
from quotes.handover.readings import Entered, reading_add
from quotes.handover.settling import (
    Charge,
    missing_accessories,
    statement_draft,
    statement_make,
)
from quotes.handover.units import WITH_ALL as UNIT_WITH_ALL
from quotes.handover.units import unit_swap, units_for_swap
from quotes.models import HireChange, Order, OrderState, OutUnit, ServiceCase, SignOffPhoto
from quotes.pricing.money import dollars

SHOWN = 100


def orders_of(user: User) -> Any:
    """Orders of the quotes that a person may see."""
    return Order.objects.filter(quote__in=quotes_of(user)).select_related(*WITH_ALL)


def order_or_404(user: User, number: str) -> Order:
    found: Order | None = orders_of(user).filter(number=number).first()
    if found is None:
        raise Http404("no such order")
    return found


def unit_or_404(user: User, number: str, unit: str) -> OutUnit:
    """One unit of an order that a person may see."""
    order = order_or_404(user, number)
    units = OutUnit.objects.select_related(*UNIT_WITH_ALL)
    found = units.filter(order=order, unit__number=unit).first()
    if found is None:
        raise Http404("no such unit")
    return found


@require_safe
@desk_page("read_desk")
def out_list(web: HttpRequest) -> HttpResponse:
    """Orders that are out or go out, and what was reported."""
    assert isinstance(web.user, User)
    orders = orders_of(web.user).filter(state=OrderState.CONFIRMED)
    open_ = Count("out_units__service_cases", filter=Q(out_units__service_cases__state="open"))
    rows = orders.annotate(reports=open_).order_by("quote__starts_on", "pk")[:SHOWN]
    cases = ServiceCase.objects.filter(state="open", out_unit__order__in=orders)
    context = {
        "orders": rows,
        "cases": cases.select_related("out_unit__unit", "out_unit__order")[:SHOWN],
    }
    return render(web, "quotes/handover/desk_list.html", context)


@require_safe
@desk_page("read_desk")
def order_page(web: HttpRequest, number: str) -> HttpResponse:
    """One order: its units with sheets, sign-offs, readings and reports."""
    assert isinstance(web.user, User)
    return _order_page(web, order_or_404(web.user, number))


def _order_page(
    web: HttpRequest,
    order: Order,
    *,
    reading: StaffReadingForm | None = None,
    sentence: str = "",
    status: int = 200,
) -> HttpResponse:
    now = timezone.now()
    context = {
        "order": order,
        "customer": customer_facts(order.quote),
        "starts": day_words(order.quote.starts_on) if order.quote.starts_on else "",
        "ends": day_words(hire_end(order)),
        "total": dollars(agreed_total(order)),
        "units": [_unit_facts(one, now) for one in units_out(order)],
        "changes": HireChange.objects.filter(order=order),
        "form": reading or StaffReadingForm(),
        "problems": problems_of(reading) if reading and reading.is_bound else [],
        "sentence": sentence,
        "may_work": web.user.has_perm("intake.work_case"),
        "statement": getattr(order, "statement", None),
        **hook_up_of_order(order),
    }
    return render(web, "quotes/handover/desk_order.html", context, status=status)


def _unit_facts(out: OutUnit, now: datetime) -> dict[str, Any]:
    signed = {one.kind: one for one in out.sign_offs.all()}
    numbers = [] if out.ended_at else [one.number for one in units_for_swap(out, now)]
    return {
        "out": out,
        "delivery": signed.get("delivery"),
        "back": signed.get("return"),
        "readings": list(out.readings.all()),
        "cases": list(out.service_cases.all()),
        "swap": SwapForm(numbers=numbers) if numbers else None,
    }


@require_safe
@desk_page("read_desk")
def sheet(web: HttpRequest, number: str, unit: str, name: str) -> HttpResponse:
    """The delivery sheet or the start card as a PDF."""
    assert isinstance(web.user, User)
    out = unit_or_404(web.user, number, unit)
    facts = {"sheet": sheet_facts, "card": card_facts}[name](out)
    return pdf_response(handover_pdf(name, facts, made_at=timezone.now()), f"{name}-{unit}")


@require_safe
@desk_page("read_desk")
def photo(web: HttpRequest, number: str, photo_id: int) -> HttpResponseBase:
    """One photo of a sign-off."""
    assert isinstance(web.user, User)
    order = order_or_404(web.user, number)
    found = SignOffPhoto.objects.filter(pk=photo_id, sign_off__out_unit__order=order).first()
    if found is None:
        raise Http404
    response = FileResponse(found.image.open("rb"), content_type="image/jpeg")
    response.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    response.headers["X-Content-Type-Options"] = "nosniff"
    response.headers["Cache-Control"] = "no-store"
    return response


@require_http_methods(["GET", "HEAD", "POST"])
@desk_page("work_case")
def help_on_phone(web: HttpRequest, number: str, unit: str) -> HttpResponse:
    """The same questions, for the rep on the phone."""
    assert isinstance(web.user, User)
    out = unit_or_404(web.user, number, unit)
    return help_page(
        web, out, template="quotes/handover/desk_help.html", context={"order": out.order}
    )


@require_POST
@desk_page("work_case")
def read(web: HttpRequest, number: str, unit: str) -> HttpResponse:
    """A reading by staff."""
    assert isinstance(web.user, User)
    out = unit_or_404(web.user, number, unit)
    form = StaffReadingForm(web.POST)
    if form.is_valid():
        try:
            reading_add(
                out_unit_id=out.pk,
                entered=Entered(**form.cleaned_data),
                by=web.user.get_full_name() or web.user.get_username(),
                actor=web.user,
                now=timezone.now(),
            )
            return redirect("quotes:desk_order", number=number)
        except ServiceRefusal as refusal:
            form.add_error("engine_hours", str(refusal))
    return _order_page(web, out.order, reading=form, status=422)


@require_POST
@desk_page("work_case")
def swap(web: HttpRequest, number: str, unit: str) -> HttpResponse:
    """Another unit in a unit's place."""
    assert isinstance(web.user, User)
    out = unit_or_404(web.user, number, unit)
    numbers = [one.number for one in units_for_swap(out, timezone.now())]
    form = SwapForm(web.POST, numbers=numbers)
    if not form.is_valid():
        return _order_page(
            web, out.order, sentence="Choose a unit and give the reason.", status=422
        )
    try:
        unit_swap(out_unit_id=out.pk, actor=web.user, now=timezone.now(), **form.cleaned_data)
    except ServiceRefusal as refusal:
        return _order_page(web, out.order, sentence=str(refusal), status=409)
    return redirect("quotes:desk_order", number=number)


@require_POST
@desk_page("work_case")
def case_close(web: HttpRequest, number: str, case_id: int) -> HttpResponse:
    """Close a report with what it was."""
    assert isinstance(web.user, User)
    order = order_or_404(web.user, number)
    case = ServiceCase.objects.filter(pk=case_id, out_unit__order=order).first()
    words = str(web.POST.get("resolution", "")).replace("\x00", "").strip()[:2000]
    if case is None:
        raise Http404
    if not words:
        return _order_page(web, order, sentence="Say what it was, then close it.", status=422)
    service_case_close(case_id=case.pk, resolution=words, actor=web.user, now=timezone.now())
    return redirect("quotes:desk_order", number=number)


@require_http_methods(["GET", "HEAD", "POST"])
@desk_page("work_case")
def settle(web: HttpRequest, number: str) -> HttpResponse:
    """The final statement before it is made, with what is missing; then made."""
    assert isinstance(web.user, User)
    order = order_or_404(web.user, number)
    if getattr(order, "statement", None) is not None:
        return redirect("quotes:desk_order", number=number)
    forms = charge_forms(order, web.POST if web.method == "POST" else None)
    refused = ""
    charges: tuple[Charge, ...] = ()
    if web.method == "POST" and all(form.is_valid() for form in forms.values()):
        charges = charges_of(forms)
        try:
            if "make" in web.POST:
                statement_make(
                    order_id=order.pk, charges=charges, actor=web.user, now=timezone.now()
                )
                return redirect("quotes:desk_order", number=number)
        except ServiceRefusal as refusal:
            refused = str(refusal)
    return _settle_page(web, order, forms, charges, refused)


def charge_forms(order: Order, data: Any) -> dict[str, ChargeForm]:
    """A form for each missing accessory, and two for damage or whatever else."""
    missing = missing_accessories(order)
    forms = {
        code: ChargeForm(data, prefix=code, initial={"label": f"{name}, {count} missing"})
        for code, (name, count) in missing.items()
    }
    for other in ("damage_1", "damage_2"):
        forms[other] = ChargeForm(data, prefix=other)
    return forms


def charges_of(forms: dict[str, ChargeForm]) -> tuple[Charge, ...]:
    """What was entered, those without an amount left out."""
    return tuple(
        Charge(
            code, form.cleaned_data["label"], form.cleaned_data["amount"], form.cleaned_data["why"]
        )
        for code, form in forms.items()
        if form.cleaned_data.get("amount") is not None
    )


def _settle_page(
    web: HttpRequest,
    order: Order,
    forms: dict[str, ChargeForm],
    charges: tuple[Charge, ...],
    refused: str,
) -> HttpResponse:
    draft = None
    try:
        draft = statement_draft(order, charges)
    except StatementRefused as refusal:
        refused = refused or str(refusal)
    problems = [line for form in forms.values() if form.is_bound for line in problems_of(form)]
    context = {
        "order": order,
        "forms": forms,
        "draft": draft,
        "due": dollars(draft.due) if draft else "",
        "refused": refused,
        "problems": problems,
    }
    status = 422 if problems else 409 if refused and web.method == "POST" else 200
    return render(web, "quotes/handover/settle.html", context, status=status)


@require_safe
@desk_page("read_desk")
def statement(web: HttpRequest, number: str) -> HttpResponse:
    """The final statement as a PDF."""
    assert isinstance(web.user, User)
    order = order_or_404(web.user, number)
    made = getattr(order, "statement", None)
    if made is None:
        raise Http404
    content = handover_pdf("statement", statement_facts(made), made_at=made.made_at)
    return pdf_response(content, f"statement-{number}")
