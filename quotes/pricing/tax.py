"""Taxes where the set stands, by kind of line; an exemption certificate on file takes them off."""

from __future__ import annotations

from decimal import Decimal

from quotes.pricing.money import ZERO, dollars, percent_of, total
from quotes.pricing.sheet import Line, Sheet, TaxLine
from quotes.pricing.terms import Exemption, Tax, Terms


def tax_lines(terms: Terms, sheet: Sheet) -> None:
    """One line a tax: its percent of the sum of the rounded lines of its kinds, rounded once.

    Kinds that a certificate exempts are a line of their own, with nothing to pay.
    """
    groups: dict[tuple[str, Decimal, str], list[str]] = {}
    for tax in terms.taxes:
        exempt = exempted_by(terms.exemption, tax)
        groups.setdefault((tax.name, tax.percent, exempt), []).append(tax.line_kind)
    for (name, percent, exempt), kinds in groups.items():
        lines = [line for line in sheet.lines if line.kind in kinds]
        if lines:
            _tax_line(name, percent, exempt, lines, sheet)


def _tax_line(name: str, percent: Decimal, exempt: str, lines: list[Line], sheet: Sheet) -> None:
    base = total(line.amount for line in lines)
    kinds = ", ".join(dict.fromkeys(line.kind.value for line in lines))
    amount = ZERO if exempt else percent_of(percent, base)
    working = f"{percent.normalize():f} % of {dollars(base)} ({kinds})"
    reason = f"Exempt by certificate {exempt}." if exempt else "By the place where the set stands."
    sheet.step("tax", name, working, amount, reason)
    sheet.taxes.append(TaxLine(name, kinds, percent, base, amount, exempt))


def exempted_by(exemption: Exemption | None, tax: Tax) -> str:
    """Number of the certificate that takes a tax off; one without kinds covers all of them."""
    if exemption is None:
        return ""
    covered = not exemption.line_kinds or tax.line_kind in exemption.line_kinds
    return exemption.number if covered else ""
