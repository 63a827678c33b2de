"""What a quote's page and document show of the rows behind it, and no more."""

from __future__ import annotations

from decimal import Decimal
from functools import lru_cache
from typing import Any, NamedTuple, TypeVar

from intake.models import SizingRun
from intake.prepared import A_KEY, Prepared, related_rows
from quotes.building.options import options_of
from quotes.models import PriceStep, Quote, QuoteLine, QuoteTax

Facts = dict[str, Any]
Row = TypeVar("Row", bound=NamedTuple)


class LineRow(NamedTuple):
    """What is shown of a line."""

    kind: str
    code: str
    label: str
    quantity: Decimal
    unit: str
    unit_price: Decimal
    amount: Decimal
    why: str


class TaxRow(NamedTuple):
    """What is shown of a tax."""

    name: str
    line_kinds: str
    percent: Decimal
    base: Decimal
    amount: Decimal
    exempt: str


class StepRow(NamedTuple):
    """What is shown of a step of the price."""

    line: str
    label: str
    working: str
    amount: Decimal | None
    reason: str


class RunShown(NamedTuple):
    """What a quote says of the sizing run it was made from."""

    requirement: Facts
    demand: Facts | None
    findings: list[Facts]
    option: Facts


LINES = Prepared(
    lambda quote: QuoteLine.objects.filter(quote=quote).values_list(*LineRow._fields), A_KEY
)
STEPS = Prepared(
    lambda quote: PriceStep.objects.filter(quote=quote).values_list(*StepRow._fields), A_KEY
)
TAXES = Prepared(
    lambda quote: QuoteTax.objects.filter(quote=quote).values_list(*TaxRow._fields), A_KEY
)


def lines_of(quote: Quote) -> list[Any]:
    """The lines in their order."""
    return _rows(quote, "lines", LINES, LineRow)


def taxes_of(quote: Quote) -> list[Any]:
    """The taxes in their order."""
    return _rows(quote, "taxes", TAXES, TaxRow)


def steps_of(quote: Quote) -> list[Any]:
    """The steps of the price in their order."""
    return _rows(quote, "steps", STEPS, StepRow)


def _rows(quote: Quote, name: str, prepared: Prepared[Any], shown: type[Row]) -> list[Any]:
    """The rows that were put on a quote, else what is shown of those read by its key."""
    rows = related_rows(quote, name, prepared)
    return [shown._make(row) if isinstance(row, tuple) else row for row in rows]


@lru_cache(maxsize=32)
def _runs(option: int) -> Prepared[Any]:
    """What is shown of a run, with this option: a third of it, for the trace is long."""
    path = f"alternatives__{option - 1}" if option else "recommendation"
    return Prepared(
        lambda pk: SizingRun.objects.filter(pk=pk).values_list(
            "requirement", "result__demand", "result__findings", f"result__{path}"
        ),
        A_KEY,
    )


def run_shown(quote: Quote) -> RunShown:
    """What is shown of the quote's run, asked for unless the run was read with the quote."""
    option = quote.content["source"]["option"]
    if not Quote.run.is_cached(quote):
        return RunShown(*_runs(option).rows(quote.run_id)[0])
    result = quote.run.result
    return RunShown(
        quote.run.requirement,
        result.get("demand"),
        result["findings"],
        options_of(result)[option],
    )
