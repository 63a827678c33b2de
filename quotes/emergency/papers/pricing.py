"""What one set at one site comes to, by the rate card and the hours that were really used.

1. The set by the days it stood there and the hours of its meter, and its accessories.
2. Delivery and collection. 3. Labour by its hours, fuel by its gallons, each at the card's fee.
4. The emergency uplift, only as far as agreed and only where the state does not bar it.

Every line tells how it was worked out, so that whoever asks for reimbursement can.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from quotes.models import RecordLineKind
from quotes.pricing.errors import RateMissing, TooHeavyToDeliver
from quotes.pricing.fees import emergency_uplift
from quotes.pricing.hire import period_lines
from quotes.pricing.job import HiredAccessory, HiredSet, Job
from quotes.pricing.money import dollars, total
from quotes.pricing.moves import move_lines
from quotes.pricing.period import hire_days
from quotes.pricing.sheet import Sheet
from quotes.pricing.terms import FeeCode, LineKind, Terms

KINDS = {
    LineKind.HIRE: RecordLineKind.SET,
    LineKind.ACCESSORY: RecordLineKind.ACCESSORY,
    LineKind.DELIVERY: RecordLineKind.DELIVERY,
    LineKind.LABOUR: RecordLineKind.LABOUR,
    LineKind.FUEL: RecordLineKind.FUEL,
    LineKind.EMERGENCY: RecordLineKind.SET,
}


@dataclass(frozen=True, slots=True)
class Used:
    """What was really used at a site."""

    started_at: datetime
    stopped_at: datetime
    hours: Decimal  # by the meter, else by the clock
    by_meter: bool
    fuel_gallons: Decimal
    labour_hours: Decimal
    distance_km: Decimal  # one way, straight


@dataclass(frozen=True, slots=True)
class CostLine:
    """One line of the record."""

    kind: RecordLineKind
    label: str
    quantity: Decimal
    unit: str
    rate: Decimal
    amount: Decimal
    why: str


@dataclass(frozen=True, slots=True)
class Costs:
    """The lines, their sum before tax, and what is to be said of the emergency terms."""

    lines: tuple[CostLine, ...]
    said: tuple[str, ...]

    @property
    def total(self) -> Decimal:
        return total(line.amount for line in self.lines)


def costs(
    hired: HiredSet, accessories: tuple[HiredAccessory, ...], used: Used, terms: Terms
) -> Costs:
    """All lines of one record. What the card has no rate for is said, never guessed."""
    said: list[str] = []
    priced = tuple(one for one in accessories if one.code in terms.rates)
    said += [
        f"{one.name}: the card has no rate, so it is not in this record."
        for one in accessories
        if one.code not in terms.rates
    ]
    job = _job(hired, priced, used)
    sheet = Sheet()
    try:
        period_lines(job, terms, sheet)
    except RateMissing as missing:
        return Costs((), (*said, f"{missing} A person works this record out."))
    try:
        move_lines(job, terms, sheet)
    except TooHeavyToDeliver as heavy:
        said.append(f"{heavy} Delivery is not in this record.")
    _by_use(used, terms, sheet, said)
    emergency_uplift(terms, sheet)
    said += [words for words in (terms.emergency_barred or terms.emergency_agreed,) if words]
    return Costs(tuple(_line(sheet, index, used) for index in range(len(sheet.lines))), tuple(said))


def _job(hired: HiredSet, accessories: tuple[HiredAccessory, ...], used: Used) -> Job:
    start, end = used.started_at.date(), used.stopped_at.date()
    days = hire_days(start, end)
    return Job(
        start=start,
        end=end,
        sets=(hired,),
        accessories=accessories,
        engine_hours_per_day=used.hours / days,
        distance_km=used.distance_km,
        emergency=True,
    )


def _by_use(used: Used, terms: Terms, sheet: Sheet, said: list[str]) -> None:
    """Labour and fuel by what was used; without a fee on the card they are only said."""
    wanted = (
        (LineKind.LABOUR, FeeCode.CONNECTION_HOUR, "Labour", used.labour_hours, "h"),
        (LineKind.FUEL, FeeCode.FUEL_GALLON, "Diesel", used.fuel_gallons, "gal"),
    )
    for kind, code, label, quantity, unit in wanted:
        fee = terms.fees.get(code)
        if not quantity:
            continue
        if fee is None:
            said.append(f"{label}: {quantity} {unit}; the card has no rate for it.")
            continue
        sheet.line(
            kind, code, label, amount=quantity * fee.amount, quantity=quantity, unit=unit,
            unit_price=fee.amount, why=f"{quantity} {unit} x {dollars(fee.amount)}",
        )  # fmt: skip


def _line(sheet: Sheet, index: int, used: Used) -> CostLine:
    line = sheet.lines[index]
    why = line.why or line.label
    if line.kind == LineKind.HIRE:
        source = "by the hour meter" if used.by_meter else "by the clock"
        why = f"{used.hours.normalize():f} h {source}; {why}"
    kind = KINDS.get(line.kind, RecordLineKind.SET)
    return CostLine(kind, line.label, line.quantity, line.unit, line.unit_price, line.amount, why)


def hours_used(
    started_at: datetime,
    stopped_at: datetime,
    meter_start: Decimal | None,
    meter_end: Decimal | None,
) -> tuple[Decimal, bool]:
    """Hours by the meter where both readings are there, else by the clock, to a tenth."""
    if meter_start is not None and meter_end is not None:
        return meter_end - meter_start, True
    seconds = Decimal(int((stopped_at - started_at).total_seconds()))
    return (seconds / 3600).quantize(Decimal("0.1")), False
