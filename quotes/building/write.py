"""Writing a price as the rows of a quote."""

from __future__ import annotations

from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from intake.prepared import related_put
from quotes.models import PriceStep, Quote, QuoteLine, QuoteTax
from quotes.pricing.money import cents
from quotes.pricing.sheet import Sheet

LEAST_TIME_TO_ACCEPT = timedelta(hours=4)


def sheet_write(quote: Quote, sheet: Sheet) -> None:
    """Write the lines, taxes and steps of a quote: once, in the transaction of the step's tick.

    The quote in hand keeps them, rounded as they are stored, for its document.
    """
    related_put(quote, "lines", QuoteLine.objects.bulk_create(_lines(quote, sheet)))
    related_put(quote, "taxes", QuoteTax.objects.bulk_create(_taxes(quote, sheet)))
    related_put(quote, "steps", PriceStep.objects.bulk_create(_steps(quote, sheet)))


def _lines(quote: Quote, sheet: Sheet) -> list[QuoteLine]:
    return [
        QuoteLine(
            quote=quote,
            position=position,
            kind=line.kind,
            code=line.code,
            label=line.label,
            quantity=cents(line.quantity),
            unit=line.unit,
            unit_price=cents(line.unit_price),
            amount=line.amount,
            why=line.why[:300],
        )
        for position, line in enumerate(sheet.lines)
    ]


def _taxes(quote: Quote, sheet: Sheet) -> list[QuoteTax]:
    return [
        QuoteTax(
            quote=quote,
            position=position,
            name=tax.name,
            line_kinds=tax.line_kinds,
            percent=tax.percent,
            base=tax.base,
            amount=tax.amount,
            exempt=tax.exempt,
        )
        for position, tax in enumerate(sheet.taxes)
    ]


def _steps(quote: Quote, sheet: Sheet) -> list[PriceStep]:
    return [
        PriceStep(
            quote=quote,
            position=position,
            line=step.line,
            label=step.label[:120],
            working=step.working[:300],
            amount=None if step.amount is None else cents(step.amount),
            reason=step.reason,
        )
        for position, step in enumerate(sheet.steps)
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
