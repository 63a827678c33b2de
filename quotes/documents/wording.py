"""Words for the method's codes, for page and PDF."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from django.utils.functional import Promise
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

Words = str | Promise

CHECKS: dict[str, Words] = {
    "mean_load": _("24-hour mean load (ISO 8528-1)"),
    "light_load": _("Not too lightly loaded"),
    "voltage_dip": _("Voltage dip at the worst start"),
    "frequency_dip": _("Frequency dip at the worst start"),
    "supply_position": _("Selector position for this voltage"),
    "receptacles_120v": _("120 V receptacles live in this position"),
    "connection": _("Terminals for the leads"),
    "automatic_start": _("Starts by itself on a float switch"),
    "sound": _("Sound at the listener"),
    "lead_ampacity": _("Leads carry the current"),
    "running_kw": _("Peak load at this site"),
    "running_kva": _("Peak kVA at this site"),
    "line_current": _("Current of the worst phase"),
    "neutral_current": _("Current in the neutral"),
    "nonlinear_share": _("Share of electronic loads"),
    "load_step": _("Largest load step"),
    "frequency_recovery": _("Recovery of the frequency"),
    "lead_drop": _("Voltage drop in the leads"),
    "lead_protection": _("Breaker that protects the leads"),
    "openings_distance": _("Distance from doors, windows and vents"),
    "autonomy": _("Fuel until the next refuelling"),
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


@lru_cache(maxsize=8)
def check_labels(language: str | None) -> dict[str, str]:
    """The names of the checks in words, the same on every quote in a language."""
    return {name: str(words) for name, words in CHECKS.items()}


def plain_words(name: str) -> str:
    """The name of a check that has no words of its own."""
    return name.replace("_", " ").capitalize()


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
    sentences = []
    if demand.get("running_kw"):
        sentences.append(
            gettext(
                "Your equipment draws {running} kW at its peak; at this site the set gives {site}"
                " kW, so it runs at {load} % of what it can."
            ).format(
                running=f"{demand['running_kw']:.1f}",
                site=f"{option['site_kw']:.1f}",
                load=f"{option['load_percent']:.0f}",
            )
        )
    if demand.get("worst_step") and option.get("voltage_dip_percent") is not None:
        sentences.append(
            gettext(
                "When {name} starts, the voltage dips by {dip} % and recovers; the running"
                " equipment stands it."
            ).format(name=demand["worst_step"], dip=f"{option['voltage_dip_percent']:.0f}")
        )
    if option.get("autonomy_h"):
        sentences.append(
            gettext(
                "It burns about {burn} gallons a day; a full tank lasts about {hours} hours."
            ).format(
                burn=f"{option['fuel_l_per_day'] / 3.785411784:.0f}",
                hours=f"{option['autonomy_h']:.0f}",
            )
        )
    if option.get("why"):
        sentences.append(str(option["why"]))
    return sentences
