"""Typical equipment to pick where there is no plate. Every figure is marked as typical."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from django.utils.translation import get_language

_FILE = Path(__file__).with_suffix(".csv")
_SYSTEMS = ("120/240", "208Y/120", "480Y/277")


@dataclass(frozen=True, slots=True)
class Typical:
    """One typical piece of equipment, with the plate that stands in for a real one."""

    code: str
    kind: str
    name_en: str
    name_es: str
    plate: dict[str, Any]
    source: str

    @property
    def name(self) -> str:
        return self.name_es if (get_language() or "").startswith("es") else self.name_en


@lru_cache(maxsize=1)
def typical_equipment() -> dict[str, Typical]:
    """All of it, by code."""
    with _FILE.open(encoding="utf-8", newline="") as file:
        return {row["code"]: _typical(row) for row in csv.DictReader(file)}


def typical_of(kind: str) -> list[Typical]:
    """What may stand in for equipment of that kind."""
    return [typical for typical in typical_equipment().values() if typical.kind == kind]


def typical_plate(code: str) -> dict[str, Any]:
    """The plate that stands in, marked as typical."""
    return typical_equipment()[code].plate


def _typical(row: dict[str, str]) -> Typical:
    plate: dict[str, Any] = {"typical": True, "hertz": 60, "phases": int(row["phases"])}
    for name in ("hp", "watts", "amps"):
        if row[name]:
            plate[name] = float(row[name])
    plate["system" if row["volts"] in _SYSTEMS else "volts"] = (
        row["volts"] if row["volts"] in _SYSTEMS else float(row["volts"])
    )
    if row["lamp_type"]:
        plate["lamp_type"] = row["lamp_type"]
    return Typical(row["code"], row["kind"], row["name_en"], row["name_es"], plate, row["source"])
