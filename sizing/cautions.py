"""The usual cautions: on every recommendation, page, PDF and handover sheet."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from sizing.tables import table


@dataclass(frozen=True, slots=True)
class Caution:
    """One caution with its source."""

    code: str
    text: str
    source: str


@lru_cache(maxsize=1)
def cautions() -> tuple[Caution, ...]:
    """General cautions, in the order they are shown.

    Returns
    -------
    tuple of Caution
        Code, text and source of each [-]

    Raises
    ------
    TableRefused
        The table is damaged.

    Source: sizing/tables/cautions.csv, each its own.
    """
    return tuple(Caution(row["code"], row["text"], row["source"]) for row in table("cautions").rows)
