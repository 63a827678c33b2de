"""The cast of the composition's tests: one set, one job, one demand, each changed by name."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from sizing import read_requirement
from sizing.demand import Demand, demand_of, read_loads
from sizing.fleet import GeneratorSet
from sizing.requirement import Requirement

SITE = {
    "altitude": "100 m", "ambient": "25 degC", "hours_per_day": 24, "refuel_every": "24 h",
    "lead_length": "10 m", "public_nearby": False,
}  # fmt: skip
PUMP = {
    "name": "Pump", "kind": "pump", "nameplate": "10 hp 460 V 3 ph 60 Hz 14 A code G",
    "starting": "across_the_line", "float_switch": False,
}  # fmt: skip
HEATER = {"name": "Heater", "kind": "heater", "nameplate": "10 kW 480 V 3 ph"}


def a_set(prime_kw: float = 60.0, **changes: Any) -> GeneratorSet:
    """A set with every position, no derating, stiff enough for its power."""
    base = GeneratorSet(
        code=f"S{prime_kw:g}", name=f"{prime_kw:g} kW set", prime_kw=prime_kw,
        prime_kva=prime_kw / 0.8, supplies=("120/240", "208Y/120", "480Y/277"),
        transient_reactance_pu=0.15, max_step_percent=100.0,
        engine_altitude_derate=((-500.0, 1.0), (9000.0, 1.0)),
        engine_ambient_derate=((-60.0, 1.0), (60.0, 1.0)),
        alternator_altitude_derate=((-500.0, 1.0), (9000.0, 1.0)),
        alternator_ambient_derate=((-60.0, 1.0), (60.0, 1.0)),
        fuel_l_h=tuple(prime_kw * share for share in (0.09, 0.15, 0.21, 0.28)),
        tank_l=8 * prime_kw, sound_dba_7m=65.0, dry_mass_kg=30 * prime_kw,
        receptacles={"5-20": 4, "14-50": 2}, cam_sets=2, can_parallel=True, inertia_s=1.4,
        governor_lag_s=0.06, turbo_lag_s=0.5, naturally_aspirated_share=0.9, quantity=4,
    )  # fmt: skip
    return replace(base, **changes)


def a_fleet(*powers_kw: float) -> tuple[GeneratorSet, ...]:
    """Sets of these powers, else a usual row of them."""
    return tuple(a_set(power) for power in powers_kw or (15, 20, 30, 40, 60, 80, 100, 150, 200))


def a_document(*loads: dict[str, Any], **changes: Any) -> dict[str, Any]:
    """A settled job; ``site`` in the changes is laid over the usual site."""
    site = {**SITE, **changes.pop("site", {})}
    return {
        "application": "other", "supply": "480Y/277", "loads": list(loads or (PUMP, HEATER)),
        **changes, "site": {name: value for name, value in site.items() if value is not None},
    }  # fmt: skip


def a_requirement(*loads: dict[str, Any], **changes: Any) -> Requirement:
    """A settled job as the method takes it."""
    return read_requirement(a_document(*loads, **changes))


def a_demand(requirement: Requirement | None = None) -> Demand:
    """What a settled job asks at its own supply."""
    asked = requirement or a_requirement()
    assert asked.supply is not None
    loads, _ = read_loads(asked, asked.supply)
    demand, _ = demand_of(asked, asked.supply, loads)
    return demand
