"""A check: what is required, what is provided, and whether that is enough."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Check:
    """One comparison that a set, an accessory or a lead must pass.

    ``name`` is a stable code in snake case (``voltage_dip``); ``unit`` names the unit of both
    figures; ``source`` says where the limit stands, or ``common practice, no source``.
    A check with ``binding`` false is shown and warns but does not refuse a set.
    """

    name: str
    required: float | str
    provided: float | str
    unit: str
    passed: bool
    source: str
    binding: bool = True
