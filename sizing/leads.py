"""Chapter 10: the leads from the set to the load: size, runs, drop, and how they connect."""

from __future__ import annotations

import math
from dataclasses import dataclass

from sizing.conversions import FOOT_M
from sizing.tables import table
from sizing.trace import Trace


@dataclass(frozen=True, slots=True)
class Leads:
    """Chosen leads. ``size`` is AWG or kcmil as stamped; ``connection`` names the terminals used."""

    size: str
    runs_per_phase: int
    length_m: float
    design_amps: float
    ampacity_a: float
    voltage_drop_percent: float
    connection: str  # "receptacle", "cam_lock", "lugs"
    connection_order: tuple[str, ...] = ()


def leads(
    amps: float, continuous: bool, length_m: float, system: str, power_factor: float,
    ambient_c: float, trace: Trace | None = None,
) -> Leads:  # fmt: skip
    """Return the smallest leads that carry the current and hold the drop."""
    design = amps * (1.25 if continuous else 1.0)
    factor = min(1.0, table("ambient_correction").at_least(ambient_c)["at_75c"])
    best = None
    for runs in range(1, 9):
        for row in table("lead_stock").rows:
            if runs > 1 and row["parallel"] == "no":
                continue
            amp = runs * factor * table("portable_cable").at("three_75c_a", row["size"])
            r = max(
                table("conductor_resistance").at("copper_ohm_per_kft", row["size"]),
                table("conductor_impedance").at("resistance_pvc_ohm_per_kft", row["size"]),
            )
            x = table("conductor_impedance").at("reactance_pvc_ohm_per_kft", row["size"])
            z = r * power_factor + x * math.sqrt(1 - power_factor**2)
            k, volts = (2, 240) if system == "120/240" else (math.sqrt(3), float(system.split("Y")[0].split("/")[0]))
            drop = 100 * k * z * amps / runs * length_m / FOOT_M / 1000 / volts
            kind = "receptacle" if design <= 50 else "cam_lock" if design <= 400 else "lugs"
            best = Leads(row["size"], runs, length_m, design, amp, drop, kind)
            if amp >= design and drop <= 3:
                return best
    assert best is not None
    return best
