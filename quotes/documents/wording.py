"""Words for the method's codes, for page and PDF."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

CHECKS: dict[str, str] = {
    "prime_rating": "Peak load within the rating at this site",
    "peak_load": "Peak load within the rating at this site",
    "peak_kva": "Peak kVA within the rating at this site",
    "mean_load": "24-hour mean load (ISO 8528-1)",
    "light_load": "Not too lightly loaded",
    "voltage_dip": "Voltage dip at the worst start",
    "frequency_dip": "Frequency dip at the worst start",
    "step_load": "Largest load step",
    "phase_load": "Worst phase within the rating",
    "phase_amps": "Worst phase within the rating",
    "unbalance": "Unbalance of the phases",
    "nonlinear": "Electronic loads within the share",
    "supply_position": "Selector position for this voltage",
    "receptacles_120v": "120 V receptacles live in this position",
    "connection": "Terminals for the leads",
    "automatic_start": "Starts by itself on a float switch",
    "sound": "Sound at the listener",
    "ampacity": "Leads carry the current",
    "lead_ampacity": "Leads carry the current",
    "voltage_drop": "Voltage drop in the leads",
    "running_kw": "Peak load at this site",
    "running_kva": "Peak kVA at this site",
    "line_current": "Current of the worst phase",
    "neutral_current": "Current in the neutral",
    "nonlinear_share": "Share of electronic loads",
    "load_step": "Largest load step",
    "frequency_recovery": "Recovery of the frequency",
    "lead_drop": "Voltage drop in the leads",
    "lead_protection": "Breaker that protects the leads",
    "openings_distance": "Distance from doors, windows and vents",
    "autonomy": "Fuel until the next refuelling",
}

UNITS: dict[str, str] = {
    "percent": "%",
    "%": "%",
    "kW": "kW",
    "kVA": "kVA",
    "A": "A",
    "dBA": "dBA",
    "h": "h",
    "-": "",
}


def check_label(name: str) -> str:
    """A check's name in words."""
    return CHECKS.get(name, name.replace("_", " ").capitalize())


def figure(value: Any, unit: str = "") -> str:
    """A figure of a check as people write it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, (int, float)):
        text = f"{value:,.0f}" if abs(value) >= 100 else f"{value:,.1f}".removesuffix(".0")
        return f"{text} {UNITS.get(unit, unit)}".strip()
    return str(value).replace("_", " ")


def why_this_set(option: Mapping[str, Any], demand: Mapping[str, Any]) -> list[str]:
    """The reasons in plain sentences: what it carries, what it starts, how it runs."""
    site_kw, load = option["site_kw"], option["load_percent"]
    sentences = []
    if demand.get("running_kw"):
        sentences.append(
            f"Your equipment draws {demand['running_kw']:.1f} kW at its peak; at this site the set"
            f" gives {site_kw:.1f} kW, so it runs at {load:.0f} % of what it can."
        )
    if demand.get("worst_step") and option.get("voltage_dip_percent") is not None:
        sentences.append(
            f"When {demand['worst_step']} starts, the voltage dips by"
            f" {option['voltage_dip_percent']:.0f} % and recovers; the running equipment stands it."
        )
    if option.get("autonomy_h"):
        sentences.append(
            f"It burns about {option['fuel_l_per_day'] / 3.785411784:.0f} gallons a day;"
            f" a full tank lasts about {option['autonomy_h']:.0f} hours."
        )
    if option.get("why"):
        sentences.append(str(option["why"]))
    return sentences
