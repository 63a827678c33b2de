"""Taxes where the set stands, by kind of line; an exemption certificate on file takes them off."""

from __future__ import annotations

from decimal import Decimal

from quotes.pricing.money import ZERO, dollars, percent_of, total
from quotes.pricing.sheet import Sheet, TaxLine
from quotes.pricing.terms import Exemption, Tax, Terms


def tax_lines(terms: Terms, sheet: Sheet) -> None:
    """One tax line for each tax and kind of line: percent of the sum of the rounded lines."""
    for tax in terms.taxes:
        base = total(line.amount for line in sheet.lines if line.kind == tax.line_kind)
        if base:
            _tax_line(tax, base, terms.exemption, sheet)


def _tax_line(tax: Tax, base: Decimal, exemption: Exemption | None, sheet: Sheet) -> None:
    exempt = exemption.number if exemption and covers(exemption, tax) else ""
    amount = ZERO if exempt else percent_of(tax.percent, base)
    working = f"{tax.percent.normalize():f} % of {dollars(base)} ({tax.line_kind})"
    reason = f"Exempt by certificate {exempt}." if exempt else "By the place where the set stands."
    sheet.step("tax", tax.name, working, amount, reason)
    sheet.taxes.append(TaxLine(tax.name, tax.line_kind, tax.percent, base, amount, exempt))


def covers(exemption: Exemption, tax: Tax) -> bool:
    """Whether a certificate covers a tax: all kinds where it names none."""
    return not exemption.line_kinds or tax.line_kind in exemption.line_kinds
