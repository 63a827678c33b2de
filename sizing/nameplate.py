"""Chapter 1: from what is stamped on the plate to running kilowatts, kVA and amperes.

The chapter's parts: `plate` (the records), `plate_text` with `plate_words`, `plate_forms`,
`plate_pairs` and `plate_volts` (reading what people type), `plate_reading` (text or object, checked
as a whole), `plate_checks` (what a plate says twice must agree), `running` with `running_motor`
(the figures), `plate_shown` (what was understood), `plate_typical` (for people without a plate).
"""

from __future__ import annotations

from sizing.plate import LoadDemand, Nameplate, NameplateRefused
from sizing.plate_reading import as_object, read_nameplate
from sizing.plate_shown import explain, missing
from sizing.plate_typical import TypicalEquipment, typical_equipment, typical_plate
from sizing.running import load_demand

__all__ = [
    "LoadDemand", "Nameplate", "NameplateRefused", "TypicalEquipment", "as_object", "explain",
    "load_demand", "missing", "read_nameplate", "typical_equipment", "typical_plate",
]  # fmt: skip
