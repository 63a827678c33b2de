"""Chapter 5: what dip the equipment that already runs stands, and what the application asks."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

from sizing.plate import LoadDemand
from sizing.tables import table

RULE_BY_KIND = {
    "motor": "contactor",
    "pump": "contactor",
    "compressor": "contactor",
    "hvac": "contactor",
    "electronics": "electronics",
    "panel": "electronics",  # what hangs on a panel is not known
}
STEADY_LAMPS = frozenset({"led", "incandescent", "halogen", "quartz"})


class DipLimit(NamedTuple):
    """The deepest dip allowed [%], why, and where the figure stands."""

    percent: float
    reason: str
    source: str


def withstand_rule(demand: LoadDemand) -> str | None:
    """Return the row of ``allowable_dip`` that a running load falls under.

    Parameters
    ----------
    demand : LoadDemand
        A running load [-]

    Returns
    -------
    str or None
        ``contactor``, ``discharge_lamp``, ``electronics``, or ``None`` where the application's
        limit is enough (heaters, chargers, UPS, LED and incandescent lamps) [-]

    Raises
    ------
    AttributeError
        ``demand`` is no load.

    Notes
    -----
    Conservative: a lamp of unknown type counts as a discharge lamp, a panel as electronics. High-
    intensity lamps keep the figure of fluorescent ones, since none holds for every ballast.

    Source: allowable_dip.
    """
    if demand.kind == "lamp":
        return None if demand.lamp_type in STEADY_LAMPS else "discharge_lamp"
    return RULE_BY_KIND.get(demand.kind, "contactor" if demand.is_motor else None)


def rules_of(demands: Iterable[LoadDemand]) -> tuple[str, ...]:
    """Return the rules of these loads, each once, sorted."""
    return tuple(sorted({rule for d in demands if (rule := withstand_rule(d)) is not None}))


@lru_cache(maxsize=256)
def tightest(rules: tuple[str, ...], application: str) -> DipLimit:
    """Return the tightest of an application's limit and those of the running loads.

    Parameters
    ----------
    rules : tuple of str
        Rows of ``allowable_dip`` that running loads fall under [-]
    application : str
        One of ``APPLICATIONS`` [-]

    Returns
    -------
    DipLimit
        The lowest limit [%], its reason and source; the application's where it is as low [-]

    Raises
    ------
    TableRefused
        The application or a rule has no row.

    Notes
    -----
    Source: allowable_dip, row by row.
    """
    rows = [table("allowable_dip").row(f"application_{application}")]
    rows += [table("allowable_dip").row(rule) for rule in rules]
    lowest = min(rows, key=lambda row: row["max_dip_percent"])
    return DipLimit(lowest["max_dip_percent"], lowest["reason"], lowest["source"])
