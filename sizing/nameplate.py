"""Chapter 1: from what is stamped on the plate to running kilowatts, kVA and amperes."""

from __future__ import annotations

from sizing.plate import LoadDemand, Nameplate, NameplateRefused
from sizing.plate_reading import read_nameplate
from sizing.running import load_demand

__all__ = ["LoadDemand", "Nameplate", "NameplateRefused", "load_demand", "read_nameplate"]
