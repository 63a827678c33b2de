"""A plan as it is stored: problem and result as plain documents. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import asdict, replace
from datetime import datetime
from typing import Any

from quotes.emergency.allocation import Delivery, Plan, Problem
from quotes.emergency.allocation.columns import split_stocks
from quotes.emergency.planning.situation import Asked, at_hour

Document = dict[str, Any]


def problem_document(asked: Asked, now: datetime) -> Document:
    """The problem whole, so that a plan can be solved again by anybody."""
    problem = asdict(asked.problem)
    problem["forbidden"] = sorted(map(list, asked.problem.forbidden))
    return {
        **problem,
        "starts_at": now.isoformat(),
        "left_out": [asdict(one) for one in asked.left_out],
        "choices_dropped": [asdict(one) for one in asked.choices_dropped],
    }


def delivery_documents(made: Plan, now: datetime) -> list[Document]:
    """Deliveries with moments instead of hours."""
    return [
        {
            "needs": list(one.sites),
            "set_code": one.set_code,
            "units": list(one.units),
            "yard": one.yard,
            "depart_at": at_hour(now, one.depart_h).isoformat(),
            "arrive_at": at_hour(now, one.arrive_h).isoformat(),
            "late_minutes": round(60 * one.late_h),
            "distance_km": round(one.distance_km / len(one.units), 1),
            "share": one.share,
        }
        for one in made.deliveries
    ]


def steady(problem: Problem, made: Plan, before: Mapping[str, Iterable[str]]) -> Plan:
    """The same plan with the names of interchangeable units dealt out anew: who had one keeps it.

    The allocation itself knows one unit a site to stay with; a site that has a pair in force keeps
    both where the plan gives it a pair of the same stock.
    """
    dealt = {id(one): one for one in made.deliveries}
    for stock in split_stocks(problem):
        own = set(stock.units)
        users = [one for one in made.deliveries if set(one.units) <= own]
        mixed = {u for one in made.deliveries if not set(one.units) <= own for u in one.units}
        free = [unit for unit in stock.units if unit not in mixed]
        if len(stock.units) > 1 and users:
            dealt |= _dealt(free, users, before)
    return replace(made, deliveries=tuple(dealt[id(one)] for one in made.deliveries))


def _dealt(
    free: list[str], users: list[Delivery], before: Mapping[str, Iterable[str]]
) -> dict[int, Delivery]:
    names: dict[int, list[str]] = {}
    for one in users:
        had = [u for key in one.sites for u in before.get(key, ()) if u in free]
        names[id(one)] = list(dict.fromkeys(had))[: len(one.units)]
        free = [unit for unit in free if unit not in names[id(one)]]
    for one in users:
        while len(names[id(one)]) < len(one.units):
            names[id(one)].append(free.pop(0))
    return {id(one): replace(one, units=tuple(names[id(one)])) for one in users}


def moment(text: str) -> datetime:
    """A stored moment."""
    return datetime.fromisoformat(text)
