"""Refusals: the method cannot go on and says what to do. Doubts are findings, not errors."""

from __future__ import annotations

from dataclasses import dataclass


class SizingError(Exception):
    """Root of every refusal of the sizing method."""

    code = "sizing_refused"


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in a document, with the path to it and a sentence that says what to do."""

    path: str
    code: str
    message: str


class DocumentRefused(SizingError):
    """A requirement or fleet document cannot be read; holds every problem at once."""

    code = "document_refused"

    def __init__(self, problems: list[Problem]) -> None:
        super().__init__("; ".join(f"{p.path}: {p.message}" for p in problems))
        self.problems = problems


class QuantityRefused(SizingError):
    """A written quantity cannot be read as the unit asked for."""

    code = "quantity_refused"

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.code = code
        self.message = message


class TableRefused(SizingError):
    """A table file breaks its own rules, or is asked for a key it does not hold."""

    code = "table_refused"


class OutsideTable(SizingError):
    """A value lies outside the range a table covers; a person decides, nothing is clamped."""

    code = "outside_table"

    def __init__(self, table: str, value: float, low: float, high: float, unit: str) -> None:
        super().__init__(f"{value:g} {unit} is outside {low:g} to {high:g} {unit} of table {table}")
        self.table, self.value, self.low, self.high, self.unit = table, value, low, high, unit
