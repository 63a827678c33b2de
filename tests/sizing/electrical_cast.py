"""The cast of the electrical tests: rows, their starts and a set, each changed by name."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from sizing.fleet import GeneratorSet
from sizing.plate import LoadDemand
from sizing.starting import StartDemand
from sizing.step import Step


def row(
    index: int, name: str = "", kw: float = 10.0, pf: float = 0.8, **changes: Any
) -> LoadDemand:
    """A three-phase motor row at 480 V unless changed; its amperes follow from its kVA."""
    kva = kw / pf
    base = LoadDemand(
        index=index, name=name or f"Load {index}", kind="motor", quantity=1, volts=480.0, phases=3,
        connection="line_line", amps=0.0, running_kw=kw, running_kva=kva, power_factor=pf,
        is_motor=True, supply="480Y/277",
    )  # fmt: skip
    made = replace(base, **changes)
    roots = math.sqrt(3) if made.phases == 3 else 1.0
    return replace(made, amps=changes.get("amps", kva * 1000 / roots / made.volts))


def heater(index: int, name: str = "", kw: float = 10.0, **changes: Any) -> LoadDemand:
    """A row that starts as it runs."""
    return row(index, name, kw, 1.0, kind="heater", is_motor=False, **changes)


def lamp(index: int, name: str = "", kw: float = 1.0, **changes: Any) -> LoadDemand:
    """A row of lamps between two lines."""
    given = {"kind": "lamp", "is_motor": False, "phases": 1, **changes}
    return row(index, name, kw, 1.0, **given)


def single(index: int, amps: float, connection: str = "line_neutral", **changes: Any) -> LoadDemand:
    """A single-phase row of so many amperes a piece at 120 V."""
    pf = changes.pop("pf", 1.0)
    given = {"kind": "other", "is_motor": False, "phases": 1, "volts": 120.0, **changes}
    return row(index, "", amps * 0.12 * pf, pf, connection=connection, amps=amps, **given)


def start(demand: LoadDemand, multiple: float = 6.0, pf: float = 0.2) -> StartDemand:
    """The start of a row: so many times its running kVA at a power factor."""
    kva = multiple * demand.running_kva
    return StartDemand(
        demand.index, demand.name, demand.quantity, kva, kva * pf, pf, "code_letter",
        demand.starting,
    )  # fmt: skip


def starts(rows: list[LoadDemand]) -> list[StartDemand]:
    """Motors start with six times their kVA at 0.2, the rest as they run."""
    return [start(r) if r.is_motor else start(r, 1.0, r.power_factor) for r in rows]


def a_set(prime_kw: float = 60.0, **changes: Any) -> GeneratorSet:
    """A plain set with X'd 0.25 and no derating data of its own."""
    base = GeneratorSet(
        code="SET", name="The set", prime_kw=prime_kw, prime_kva=prime_kw / 0.8,
        supplies=("120/240", "208Y/120", "480Y/277", "240/120"), transient_reactance_pu=0.25,
    )  # fmt: skip
    return replace(base, **changes)


def a_step(start_kva: float, pf: float = 0.2, before: complex = 0j, **changes: Any) -> Step:
    """A step of so many kVA at a power factor on top of so many kW + j kvar."""
    base = Step(
        "Start", (0,), (), start_kva, start_kva * pf, pf, before.real, abs(before),
        start_kva * pf, None, (),
    )  # fmt: skip
    return replace(base, **changes)
