"""The price as it is written: its lines, and every step behind each line with its reason."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal

from quotes.pricing.money import ZERO, cents, total
from quotes.pricing.terms import LineKind


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a quote; ``amount`` is rounded and is what the total adds up."""

    kind: LineKind
    code: str
    label: str
    quantity: Decimal
    unit: str
    unit_price: Decimal
    amount: Decimal
    why: str = ""


@dataclass(frozen=True, slots=True)
class Step:
    """One intermediate step: what was worked out, how, to what amount, and why."""

    line: str
    label: str
    working: str
    amount: Decimal | None
    reason: str


@dataclass(frozen=True, slots=True)
class TaxLine:
    """One tax on the lines of some kinds, after exemption."""

    name: str
    line_kinds: str
    percent: Decimal
    base: Decimal
    amount: Decimal
    exempt: str = ""


@dataclass(slots=True)
class Sheet:
    """A price being written."""

    lines: list[Line] = field(default_factory=list)
    steps: list[Step] = field(default_factory=list)
    taxes: list[TaxLine] = field(default_factory=list)
    deposit: Decimal = ZERO

    def line(
        self,
        kind: LineKind,
        code: str,
        label: str,
        *,
        amount: Decimal,
        quantity: Decimal | int = 1,
        unit: str = "",
        unit_price: Decimal | None = None,
        why: str = "",
    ) -> Line:
        """Add one line, rounded."""
        amount = cents(amount)
        price = amount if unit_price is None else cents(unit_price)
        made = Line(kind, code, label, Decimal(quantity), unit, price, amount, why)
        self.lines.append(made)
        return made

    def step(
        self, line: str, label: str, working: str, amount: Decimal | None, reason: str
    ) -> None:
        """Add one step behind the line of this code."""
        self.steps.append(Step(line, label, working, amount, reason))

    def sum_of(self, *kinds: LineKind) -> Decimal:
        """Sum of the lines of these kinds."""
        return total(line.amount for line in self.lines if line.kind in kinds)

    @property
    def net(self) -> Decimal:
        return total(line.amount for line in self.lines)

    @property
    def tax(self) -> Decimal:
        return total(tax.amount for tax in self.taxes)

    @property
    def total(self) -> Decimal:
        return self.net + self.tax
