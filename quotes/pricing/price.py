"""The price of a job, top to bottom: read this first."""

from __future__ import annotations

from decimal import Decimal

from quotes.pricing.fees import deposit, fee_lines
from quotes.pricing.hire import period_lines
from quotes.pricing.job import Adjustment, Job
from quotes.pricing.moves import move_lines
from quotes.pricing.sheet import Sheet
from quotes.pricing.tax import tax_lines
from quotes.pricing.terms import LineKind, Terms


def price(job: Job, terms: Terms) -> Sheet:
    """Sets and accessories, delivery and collection, fees, a rep's adjustment, taxes, deposit."""
    sheet = Sheet()
    period_lines(job, terms, sheet)
    move_lines(job, terms, sheet)
    fee_lines(job, terms, sheet)
    if job.adjustment is not None:
        _adjustment(job.adjustment, sheet)
    tax_lines(terms, sheet)
    sheet.deposit = deposit(terms, sheet)
    _add_up(sheet)
    return sheet


def _adjustment(adjustment: Adjustment, sheet: Sheet) -> None:
    sheet.step(
        "adjustment", "Adjustment", "agreed with a sales rep", adjustment.amount, adjustment.reason
    )
    sheet.line(
        LineKind.ADJUSTMENT, "adjustment", "Adjustment", amount=adjustment.amount,
        why=adjustment.reason,
    )  # fmt: skip


def _add_up(sheet: Sheet) -> None:
    net, tax, count = sheet.net, sheet.tax, len(sheet.lines)
    sheet.step("total", "Lines", f"{count} rounded lines added", net, "Before tax.")
    count = len(sheet.taxes)
    sheet.step("total", "Taxes", f"{count} rounded taxes added", tax, "By line kind.")
    sheet.step("total", "Total", f"{net} + {tax}", net + tax, "What is to be paid.")


def adjustment_allowed(amount: Decimal, net: Decimal, limit_percent: Decimal) -> bool:
    """Whether an adjustment stays within a share of the lines it is made on."""
    return abs(amount) <= net * limit_percent / 100
