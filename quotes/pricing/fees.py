"""Lines for fuel, labour, waiver, the environmental fee and emergency terms; and the deposit."""

from __future__ import annotations

from decimal import ROUND_CEILING, Decimal

from quotes.pricing.job import Connection, Cover, Job, Refuelling
from quotes.pricing.money import ZERO, cents, dollars, percent_of
from quotes.pricing.period import hire_days
from quotes.pricing.sheet import Sheet
from quotes.pricing.terms import Fee, FeeCode, LineKind, Terms

L_IN_A_GALLON = Decimal("3.785411784")  # US gallon, exact by definition


def gallons(litres: Decimal) -> Decimal:
    """Whole US gallons, rounded up."""
    return Decimal(int((litres / L_IN_A_GALLON).to_integral_value(rounding=ROUND_CEILING)))


def fee_lines(job: Job, terms: Terms, sheet: Sheet) -> None:
    """All fee lines in the order they are shown."""
    _first_tank(job, terms, sheet)
    if job.choices.refuelling == Refuelling.OWNER:
        _refuelling(job, terms, sheet)
    if job.choices.connection == Connection.OWNER:
        _connection(job, terms, sheet)
    if job.choices.cover == Cover.WAIVER:
        _percent_of_hire(FeeCode.DAMAGE_WAIVER, LineKind.WAIVER, "Damage waiver", terms, sheet)
    _percent_of_hire(
        FeeCode.ENVIRONMENTAL, LineKind.ENVIRONMENTAL, "Environmental fee", terms, sheet
    )
    if job.emergency:
        emergency_uplift(terms, sheet)


def _first_tank(job: Job, terms: Terms, sheet: Sheet) -> None:
    fee = terms.fees.get(FeeCode.FUEL_GALLON)
    volume = sum((gallons(hired.tank_l) * hired.quantity for hired in job.sets), Decimal(0))
    if fee is None or not volume:
        return
    sheet.step(
        "first_tank", "First tank", f"{volume} gal x {dollars(fee.amount)}",
        cents(volume * fee.amount),
        "Delivered full; bring it back full and this line is credited.",
    )  # fmt: skip
    sheet.line(
        LineKind.FUEL, "first_tank", "Diesel, tank full on delivery", amount=volume * fee.amount,
        quantity=volume, unit="gal", unit_price=fee.amount, why="credited when returned full",
    )  # fmt: skip


def _refuelling(job: Job, terms: Terms, sheet: Sheet) -> None:
    visit, gallon = terms.fees.get(FeeCode.REFUEL_VISIT), terms.fees.get(FeeCode.FUEL_GALLON)
    if visit is not None and job.refuel_visits:
        sheet.line(
            LineKind.FUEL, "refuel_visits", "Refuelling visits",
            amount=job.refuel_visits * visit.amount, quantity=job.refuel_visits, unit="visit",
            unit_price=visit.amount, why="from the fuel plan",
        )  # fmt: skip
        sheet.step(
            "refuel_visits", "Visits", f"{job.refuel_visits} x {dollars(visit.amount)}",
            cents(job.refuel_visits * visit.amount), "As many visits as the fuel plan needs.",
        )  # fmt: skip
    burnt = job.fuel_l_per_day * hire_days(job.start, job.end)
    tanks = sum((hired.tank_l * hired.quantity for hired in job.sets), Decimal(0))
    volume = gallons(max(Decimal(0), burnt - tanks))
    if gallon is not None and volume:
        sheet.step(
            "refuel_diesel", "Diesel",
            f"{burnt:.0f} L planned less {tanks:.0f} L in the first tank = {volume} gal"
            f" x {dollars(gallon.amount)}", cents(volume * gallon.amount),
            "An estimate from the plan; what is pumped is what is charged.",
        )  # fmt: skip
        sheet.line(
            LineKind.FUEL, "refuel_diesel", "Diesel at refuelling, estimated",
            amount=volume * gallon.amount, quantity=volume, unit="gal", unit_price=gallon.amount,
            why="charged as pumped",
        )  # fmt: skip


def _connection(job: Job, terms: Terms, sheet: Sheet) -> None:
    fee = terms.fees.get(FeeCode.CONNECTION_HOUR)
    if fee is None:
        return
    hours = fee.quantity * sum(hired.quantity for hired in job.sets)
    amount = hours * fee.amount
    sheet.step(
        "connection", "Labour", f"{hours} h x {dollars(fee.amount)}", cents(amount),
        "Connection at the site by a licensed electrician of ours.",
    )  # fmt: skip
    sheet.line(
        LineKind.LABOUR, "connection", "Connection at the site", amount=amount, quantity=hours,
        unit="h", unit_price=fee.amount, why="by a licensed electrician",
    )  # fmt: skip


def _percent_of_hire(
    code: FeeCode, kind: LineKind, label: str, terms: Terms, sheet: Sheet, reason: str = ""
) -> None:
    fee = terms.fees.get(code)
    if fee is None:
        return
    base = sheet.sum_of(LineKind.HIRE, LineKind.ACCESSORY)
    amount, working = bounded(percent_of(fee.amount, base), fee)
    reason = reason or "A share of what is hired, sets and accessories."
    sheet.step(
        code, label, f"{fee.amount.normalize():f} % of {dollars(base)}{working}", amount, reason
    )
    why = f"{fee.amount.normalize():f} % of the hire{working}"
    sheet.line(kind, code, label, amount=amount, why=why)


def bounded(amount: Decimal, fee: Fee) -> tuple[Decimal, str]:
    """An amount within its fee's least and most, and the words for a bound that took effect."""
    if fee.minimum is not None and amount < fee.minimum:
        return cents(fee.minimum), f", at least {dollars(fee.minimum)}"
    if fee.cap is not None and amount > fee.cap:
        return cents(fee.cap), f", at most {dollars(fee.cap)}"
    return amount, ""


def emergency_uplift(terms: Terms, sheet: Sheet) -> None:
    """The owner's emergency terms: always a line of its own, capped, or the reason it is barred."""
    if FeeCode.EMERGENCY_UPLIFT not in terms.fees:
        return
    if terms.emergency_barred:
        sheet.step(
            "emergency_uplift", "Emergency terms", "not charged", ZERO, terms.emergency_barred
        )
        return
    if terms.emergency_agreed and not terms.fees[FeeCode.EMERGENCY_UPLIFT].amount:
        sheet.step(
            "emergency_uplift", "Emergency terms", "not charged", ZERO, terms.emergency_agreed
        )
        return
    _percent_of_hire(
        FeeCode.EMERGENCY_UPLIFT, LineKind.EMERGENCY, "Emergency terms", terms, sheet,
        terms.emergency_agreed,
    )  # fmt: skip


def deposit(terms: Terms, sheet: Sheet) -> Decimal:
    """What is held and returned; never part of the total."""
    fee = terms.fees.get(FeeCode.DEPOSIT)
    if fee is None:
        return cents(0)
    amount, working = bounded(percent_of(fee.amount, sheet.total), fee)
    sheet.step(
        "deposit", "Deposit",
        f"{fee.amount.normalize():f} % of {dollars(sheet.total)}{working}", amount,
        "Held from acceptance, returned when the set is back.",
    )  # fmt: skip
    return amount
