"""The final statement: what was quoted, what was changed, what the return shows, each explained."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from decimal import ROUND_HALF_UP, Decimal

from django.contrib.auth.models import User
from django.db import transaction

from intake.events.services import event_record
from quotes.bookings.services import bookings_cancel
from quotes.fleet.selectors import sets_by_code
from quotes.handover.changing import WITH_ALL, charged_end, job_until, line_differences, terms_of
from quotes.handover.errors import StatementRefused
from quotes.handover.telling import order_tell
from quotes.handover.units import option_of
from quotes.models import (
    AccessoryType,
    HireChange,
    Order,
    OrderState,
    OutUnit,
    Quote,
    SignOff,
    SignOffKind,
    Statement,
    StatementLine,
)
from quotes.pricing.fees import L_IN_A_GALLON, gallons
from quotes.pricing.money import cents, dollars, total
from quotes.pricing.period import hire_days
from quotes.pricing.price import price
from quotes.pricing.sheet import Line, Sheet
from quotes.pricing.tax import tax_lines
from quotes.pricing.terms import FeeCode, LineKind, Terms

AGREED, CHANGED, SETTLED = "agreed", "changed", "settled"


@dataclass(frozen=True, slots=True)
class Charge:
    """What a person settles on return: a missing accessory or damage, with the reason."""

    code: str
    label: str
    amount: Decimal
    why: str


@dataclass(frozen=True, slots=True)
class Draft:
    """A statement as it would be made."""

    lines: tuple[tuple[str, Line], ...]
    sheet: Sheet
    deposit: Decimal

    @property
    def due(self) -> Decimal:
        """What is still to be paid; less than zero is paid back."""
        return self.sheet.total - self.deposit


def statement_draft(order: Order, charges: Iterable[Charge] = ()) -> Draft:
    """Every line of the statement, taxes on all of them, the deposit taken off."""
    quote = order.quote
    units = _units_back(order)
    terms = terms_of(quote)
    changes = HireChange.objects.filter(order=order)
    agreed = [(AGREED, _quoted(line)) for line in quote.lines.all()]
    changed = [(CHANGED, line) for change in changes for line in changed_lines(change)]
    settled = [
        *hours_lines(order, units, terms),
        *fuel_lines(quote, units, terms),
        *(_charge_line(charge) for charge in charges),
    ]
    lines = (*agreed, *changed, *((SETTLED, line) for line in settled))
    sheet = Sheet(lines=[line for _part, line in lines])
    tax_lines(terms, sheet)
    return Draft(lines, sheet, quote.deposit)


def _units_back(order: Order) -> list[OutUnit]:
    """The order's units, each signed for at delivery and back; ``StatementRefused`` else."""
    found = OutUnit.objects.filter(order=order).select_related("unit__set_type", "replaces")
    units = list(found.prefetch_related("sign_offs", "readings"))
    lacking = [out.unit.number for out in units if not _closed(out)]
    if lacking or not units:
        raise StatementRefused(f"Still to be signed back in: {', '.join(lacking) or 'all units'}.")
    return units


def _closed(out: OutUnit) -> bool:
    """Back in the yard with a signed return; a unit swapped before delivery needs none."""
    kinds = {one.kind for one in out.sign_offs.all()}
    if SignOffKind.DELIVERY not in kinds:
        return out.ended_at is not None
    return SignOffKind.RETURN in kinds


def _quoted(line: object) -> Line:
    """A quote's line as the statement repeats it."""
    kind = LineKind(line.kind)  # type: ignore[attr-defined]
    return Line(
        kind, line.code, line.label, line.quantity, line.unit, line.unit_price,  # type: ignore[attr-defined]
        line.amount, line.why or "As quoted and accepted.",  # type: ignore[attr-defined]
    )  # fmt: skip


def changed_lines(change: HireChange) -> list[Line]:
    """The lines of a change as they were agreed."""
    return [
        Line(
            LineKind(row["kind"]), row["code"], row["label"], Decimal(1), "",
            Decimal(row["amount"]), Decimal(row["amount"]),
            f"{row['why']} Agreed by {change.name}.",
        )
        for row in change.lines
    ]  # fmt: skip


def hours_lines(order: Order, units: list[OutUnit], terms: Terms) -> tuple[Line, ...]:
    """Engine hours beyond those planned, by the same rule that priced the plan.

    Fewer hours are not paid back: the period is what was hired. Common practice, no source.
    """
    job = job_until(order.quote, charged_end(order))
    days, count = hire_days(job.start, job.end), sum(one.quantity for one in job.sets)
    run = total_hours(units)
    per_day = run / count / days
    if per_day <= job.engine_hours_per_day:
        return ()
    planned = job.engine_hours_per_day * days * count
    why = f"The meters ran {run.normalize():f} h, {planned.normalize():f} h were planned."
    before = price(job, terms)
    after = price(replace(job, engine_hours_per_day=per_day), terms)
    return line_differences(before, after, why)


def total_hours(units: list[OutUnit]) -> Decimal:
    """Engine hours run during the hire, all units."""
    return sum((_hours(out) for out in units), Decimal(0))


def _hours(out: OutUnit) -> Decimal:
    signed = {one.kind: one for one in out.sign_offs.all()}
    if SignOffKind.DELIVERY not in signed:
        return Decimal(0)
    ran = signed[SignOffKind.RETURN].engine_hours - signed[SignOffKind.DELIVERY].engine_hours
    return max(Decimal(0), ran)


def fuel_lines(quote: Quote, units: list[OutUnit], terms: Terms) -> list[Line]:
    """Diesel brought back is credited as it was charged; diesel pumped replaces the estimate."""
    fee = terms.fees.get(FeeCode.FUEL_GALLON)
    if fee is None:
        return []
    lines = [line for out in units if (line := _tank_line(out, fee.amount)) is not None]
    if quote.lines.filter(code="refuel_diesel").exists() or _pumped_l(units):
        lines += _pumped_lines(quote, units, fee.amount)
    return lines


def _tank_line(out: OutUnit, gallon: Decimal) -> Line | None:
    """What a tank holds more or less than was charged for it.

    The first tank was charged full. The tank of a unit that came in another's place was not: what
    was burnt from it is charged.
    """
    signed = {one.kind: one for one in out.sign_offs.all()}
    if SignOffKind.RETURN not in signed or SignOffKind.DELIVERY not in signed:
        return None
    back, went = signed[SignOffKind.RETURN].fuel_percent, signed[SignOffKind.DELIVERY].fuel_percent
    tank = gallons(Decimal(str(sets_by_code()[out.unit.set_type.code].tank_l)))  # as charged
    came_instead = _came_instead(out)
    percent = back - went if came_instead else min(100, back + max(0, 100 - went))
    volume = (tank * percent / 100).quantize(Decimal("0.1"), ROUND_HALF_UP)
    if not volume:
        return None
    charged = "came in another's place" if came_instead else "its tank was charged full"
    why = (
        f"{out.unit.number} came back with {back} % of {tank:f} gal, went out with {went} %;"
        f" {charged}."
    )
    label = "Diesel brought back" if volume > 0 else "Diesel burnt from the second tank"
    return Line(
        LineKind.FUEL, f"tank_back_{out.unit.number}"[:60], label, -volume, "gal", gallon,
        cents(-volume * gallon), why,
    )  # fmt: skip


def _came_instead(out: OutUnit) -> bool:
    """Whether a unit took the place of one that had been delivered with a tank of its own."""
    if out.replaces is None:
        return False
    return out.replaces.sign_offs.filter(kind=SignOffKind.DELIVERY).exists()


def _gallons(litres: Decimal) -> Decimal:
    """US gallons to a tenth, as they are charged."""
    return (litres / L_IN_A_GALLON).quantize(Decimal("0.1"), ROUND_HALF_UP)


def _pumped_l(units: list[OutUnit]) -> Decimal:
    return sum(
        (one.pumped_l or Decimal(0) for out in units for one in out.readings.all()), Decimal(0)
    )


def _pumped_lines(quote: Quote, units: list[OutUnit], gallon: Decimal) -> list[Line]:
    estimated = total(line.amount for line in quote.lines.filter(code="refuel_diesel"))
    volume = _gallons(_pumped_l(units))
    amount = cents(volume * gallon) - estimated
    why = (
        f"{volume.normalize():f} gal pumped at {dollars(gallon)} instead of the estimated"
        f" {dollars(estimated)}."
    )
    return [
        Line(LineKind.FUEL, "diesel_pumped", "Diesel pumped, less the estimate", Decimal(1), "",
             amount, amount, why)
    ] if amount else []  # fmt: skip


def _charge_line(charge: Charge) -> Line:
    amount = cents(charge.amount)
    return Line(
        LineKind.ADJUSTMENT, charge.code, charge.label, Decimal(1), "", amount, amount, charge.why
    )


def missing_accessories(order: Order) -> dict[str, tuple[str, int]]:
    """Pieces that went out and were not counted back: code to name and number."""
    names = dict(AccessoryType.objects.values_list("code", "name"))
    sent = sent_accessories(order.quote)
    back: dict[str, int] = {}
    for sign in SignOff.objects.filter(out_unit__order=order, kind=SignOffKind.RETURN):
        for code, count in sign.accessories.items():
            back[code] = back.get(code, 0) + int(count)
    return {
        code: (names.get(code, code), count - back.get(code, 0))
        for code, count in sent.items()
        if back.get(code, 0) < count
    }


def sent_accessories(quote: Quote) -> Mapping[str, int]:
    """Accessories that come back; what was sold stays."""
    assert quote.card is not None
    sold = set(quote.card.rates.exclude(once=None).values_list("item_code", flat=True))
    found: dict[str, int] = {}
    for one in option_of(quote)["accessories"]:
        if one["code"] not in sold:
            found[one["code"]] = found.get(one["code"], 0) + int(one["quantity"])
    return found


@transaction.atomic
def statement_make(
    *, order_id: int, charges: tuple[Charge, ...], actor: User, now: datetime
) -> Statement:
    """Write the final statement once, and take the order off hire.

    1. Every unit is back and signed for; every missing piece has a charge or a reason.
    2. Lines, taxes and sums. 3. The order ends, its units are free for the next.
    """
    Order.objects.select_for_update(of=("self",)).get(pk=order_id)
    order = Order.objects.select_related(*WITH_ALL).get(pk=order_id)  # as it stands under the lock
    if Statement.objects.filter(order=order).exists():
        raise StatementRefused("The final statement is made already.")
    _units_back(order)
    lacking = set(missing_accessories(order)) - {charge.code for charge in charges}
    if lacking:
        raise StatementRefused(
            f"Say what is charged, or why not, for: {', '.join(sorted(lacking))}."
        )
    draft = statement_draft(order, charges)
    made = _write(order, draft, actor, now)
    Order.objects.filter(pk=order.pk).update(state=OrderState.OFF_HIRE)
    bookings_cancel(order=order, now=now)
    event_record(
        kind="statement_made",
        now=now,
        actor=actor,
        request=order.request,
        subject=order.number,
        due=str(made.due),
    )
    order_tell(order=order, change="ended", now=now)
    return made


def _write(order: Order, draft: Draft, actor: User, now: datetime) -> Statement:
    made = Statement(
        order=order,
        quote=order.quote,
        made_by=actor,
        made_at=now,
        taxes=[
            {"name": tax.name, "percent": str(tax.percent), "base": str(tax.base),
             "amount": str(tax.amount), "exempt": tax.exempt}
            for tax in draft.sheet.taxes
        ],
        net=draft.sheet.net,
        tax=draft.sheet.tax,
        total=draft.sheet.total,
        deposit=draft.deposit,
        due=draft.due,
    )  # fmt: skip
    made.full_clean(exclude=["order", "quote", "made_by"])
    made.save(force_insert=True)
    StatementLine.objects.bulk_create(
        StatementLine(
            statement=made, position=position, part=part, kind=line.kind, code=line.code,
            label=line.label, quantity=line.quantity, unit=line.unit, unit_price=line.unit_price,
            amount=line.amount, why=line.why[:400],
        )
        for position, (part, line) in enumerate(draft.lines)
    )  # fmt: skip
    return made
