"""Chapter 6: air pressure at an altitude, by the standard atmosphere."""

from __future__ import annotations


def standard_pressure_kpa(altitude_m: float) -> float:
    """Return the standard air pressure at an altitude [kPa]."""
    return 101.325 * (1 - 2.25577e-5 * altitude_m) ** 5.2559
