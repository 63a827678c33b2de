"""Jobs, loads and sets that the tests of duty, fuel, leads and surroundings build on."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from typing import Any

from sizing.duty import DutyProfile
from sizing.fleet import GeneratorSet
from sizing.nameplate import LoadDemand, Nameplate
from sizing.requirement import Hire, Load, Requirement, Site, known

JUNE = Hire(date(2027, 6, 1), date(2027, 6, 14))
JANUARY = Hire(date(2027, 1, 4), date(2027, 1, 29))
PLAIN_SITE = Site(known(0.0), known(30.0), known(24.0), known(24.0), known(20.0))
SET = GeneratorSet(
    "T60", "60 kW set", 60.0, 75.0, ("120/240", "208Y/120", "480Y/277"), 0.2,
    fuel_l_h=(6.8, 11.0, 14.4, 18.2), tank_l=400.0, sound_dba_7m=70.0, dry_mass_kg=1500.0,
)  # fmt: skip


def load(name: str, kind: str, kw: float, **changes: Any) -> LoadDemand:
    """One row at 480 V, three phase, 0.8 power factor; its index is set by `job`."""
    plain = LoadDemand(0, name, kind, 1, 480.0, 3, "line_line", kw / 0.665, kw, kw / 0.8, 0.8)
    return replace(plain, **changes)


def pump(kw: float = 12.0, **changes: Any) -> LoadDemand:
    """A 15 hp pump on a float switch."""
    return load("Sump pump", "pump", kw, **{"hp": 15.0, "float_switch": True, **changes})


def job(
    application: str, *demands: LoadDemand, hire: Hire | None = JUNE, rpm: float | None = 1750.0,
    **site: Any,
) -> tuple[Requirement, list[LoadDemand]]:  # fmt: skip
    """A requirement with these loads, and the loads with their row numbers."""
    rows = [replace(demand, index=index) for index, demand in enumerate(demands)]
    plates = tuple(Load(d.name, d.kind, Nameplate(rpm=rpm), d.quantity) for d in rows)
    return Requirement(application, "480Y/277", replace(PLAIN_SITE, **site), plates, hire), rows


def profile(*levels: tuple[float, float]) -> DutyProfile:
    """A profile that stands at these levels (kW, hours a day)."""
    hours = sum(h for _, h in levels)
    mean_kw = sum(kw * h for kw, h in levels) / hours if hours else 0.0
    return DutyProfile((mean_kw,) * 24, hours, mean_kw, levels=levels)


def codes(findings: list[Any]) -> list[str]:
    """Codes of findings in order."""
    return [finding.code for finding in findings]
