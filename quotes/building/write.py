"""Writing a price as the rows of a quote."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from intake.prepared import related_put
from intake.prepared_rows import PreparedInsert
from quotes.documents.rows import LineRow, StepRow, TaxRow
from quotes.models import PriceStep, Quote, QuoteLine, QuoteTax
from quotes.pricing.money import cents
from quotes.pricing.sheet import Sheet

LINES = PreparedInsert(QuoteLine, "quote_id", "position", *LineRow._fields)
TAXES = PreparedInsert(QuoteTax, "quote_id", "position", *TaxRow._fields)
STEPS = PreparedInsert(PriceStep, "quote_id", "position", *StepRow._fields)
LEAST_TIME_TO_ACCEPT = timedelta(hours=4)


def sheet_write(quote: Quote, sheet: Sheet) -> None:
    """Write the lines, taxes and steps of a quote: once, in the transaction of the step's tick.

    The quote in hand keeps what its document shows of them, rounded as they are stored.
    """
    for name, insert, rows in (
        ("lines", LINES, _lines(sheet)),
        ("taxes", TAXES, _taxes(sheet)),
        ("steps", STEPS, _steps(sheet)),
    ):
        insert.rows((quote.pk, position, *row) for position, row in enumerate(rows))
        related_put(quote, name, rows)


def _lines(sheet: Sheet) -> list[LineRow]:
    return [
        LineRow(
            kind=line.kind,
            code=line.code,
            label=line.label,
            quantity=cents(line.quantity),
            unit=line.unit,
            unit_price=line.unit_price,
            amount=line.amount,
            why=line.why[:300],
        )
        for line in sheet.lines
    ]


def _taxes(sheet: Sheet) -> list[TaxRow]:
    return [
        TaxRow(
            name=tax.name,
            line_kinds=tax.line_kinds,
            percent=tax.percent,
            base=tax.base,
            amount=tax.amount,
            exempt=tax.exempt,
        )
        for tax in sheet.taxes
    ]


def _steps(sheet: Sheet) -> list[StepRow]:
    return [
        StepRow(
            line=step.line,
            label=step.label[:120],
            working=step.working[:300],
            amount=None if step.amount is None else cents(step.amount),
            reason=step.reason,
        )
        for step in sheet.steps
    ]


def valid_until(quote: Quote, valid_days: int, now: datetime) -> datetime:
    """The last moment of an offer: the end of its last day, before the hire starts.

    An offer for today or tomorrow stays open for some hours at least.
    """
    assert quote.branch is not None
    assert quote.starts_on is not None
    zone = ZoneInfo(quote.branch.timezone)
    last_day = min(
        now.astimezone(zone).date() + timedelta(days=valid_days),
        quote.starts_on - timedelta(days=1),
    )
    end_of_day = datetime.combine(last_day, time(23, 59, 59), tzinfo=zone)
    return max(end_of_day, now + LEAST_TIME_TO_ACCEPT)
