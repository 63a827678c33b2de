"""Chapter 2: which supply suits a plate, and which one suits the whole request.

Applying the wrong voltage destroys equipment, so a voltage is settled only by a plate that states
it; an unsure supply always goes to a person, even where every plate agrees.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from sizing.finding import Finding, Severity
from sizing.plate import Nameplate
from sizing.tables import source_line, table
from sizing.trace import Trace

if TYPE_CHECKING:
    from sizing.requirement import Load, Requirement

SYSTEMS = ("120/240", "208Y/120", "480Y/277", "240/120")
FINE, OTHER_TAP, TRANSFORMER, NEVER, UNKNOWN = "fine", "other_tap", "transformer", "never", "unknown"
CARRIED = (FINE, OTHER_TAP)
LOAD_CLASS = {
    "motor": "motor", "pump": "motor", "compressor": "motor", "hvac": "motor",
    "heater": "heater", "lamp": "ballast", "panel": "panel", "electronics": "electronics",
    "ups": "electronics", "charger": "electronics", "welder": "welder",
    "transformer": "transformer", "other": "electronics",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Fit:
    """How a plate suits a system: verdict, reason, and the winding and volts that would be used.

    ``volts`` is the system's voltage across the load, ``rated_volts`` the stamped one it serves,
    both 0 where none serves; ``connection`` is ``line_line`` or ``line_neutral``.
    """

    verdict: str
    reason: str
    volts: float = 0.0
    rated_volts: float = 0.0
    connection: str = "line_line"
    phases: int = 1

    @property
    def carried(self) -> bool:
        """True where the set alone carries it, without a transformer or a second set."""
        return self.verdict in CARRIED


@dataclass(frozen=True, slots=True)
class SupplyPlan:
    """The system taken, how each load fits it, and the ranked ways out where not all do."""

    system: str | None
    per_load: tuple[Fit, ...]
    options: tuple[str, ...]
    findings: tuple[Finding, ...]


def phases_of(plate: Nameplate, kind: str, system: str) -> int:
    """Phases of a load: stamped, else what its size and the system make likely."""
    if plate.phases:
        return plate.phases
    if plate.system or plate.secondary:
        return 1 if (plate.system or plate.secondary) == "120/240" else 3
    three_phase_system = table("supply_systems").at("phases", system) == 3
    motor = LOAD_CLASS[kind] == "motor" and plate.cooling_btu_h is None
    large = (plate.hp or (plate.shaft_kw or 0) / 0.7457) > 3 or any(v > 300 for v in plate.volts)
    return 3 if three_phase_system and motor and large else 1


def suits(plate: Nameplate, kind: str, system: str) -> Fit:
    """How a plate suits a system.

    Raises
    ------
    KeyError
        ``kind`` is not one of the load kinds.
    """
    phases = phases_of(plate, kind, system)
    row = table("supply_systems").row(system)
    if plate.hertz and plate.hertz != 60:
        return Fit(NEVER, f"stamped {plate.hertz:g} Hz; the sets run at 60 Hz", phases=phases)
    if phases == 3 and row["phases"] == 1:
        return Fit(NEVER, f"three-phase; {system} has one phase", phases=3)
    if plate.system:
        return _system_fit(plate.system, system, phases)
    if not plate.volts:
        return Fit(UNKNOWN, "no voltage on the plate", phases=phases)
    return _best_winding(plate, LOAD_CLASS[kind], row, phases)


def _system_fit(stamped: str, system: str, phases: int) -> Fit:
    volts = table("supply_systems").at("line_line_v", system)
    if stamped == system or (stamped, system) == ("120/240", "240/120"):
        return Fit(FINE, f"stamped {stamped}", volts, volts, phases=phases)
    return Fit(TRANSFORMER, f"stamped {stamped}, the supply is {system}", phases=phases)


def _best_winding(plate: Nameplate, load_class: str, row: Mapping[str, Any], phases: int) -> Fit:
    """Best pair of a stamped winding and a voltage of the system."""
    offers = _offers(row, phases)
    bands = [(low, high) for low, high in _windings(plate)]
    fits = [
        (abs(volts / _nearest(band, volts) - 1), order, volts, band, connection)
        for order, (volts, connection) in enumerate(offers)
        for band in bands
        if _within(load_class, band, volts)
    ]
    if not fits:
        return _no_winding(plate, load_class, row, phases)
    _, _, volts, band, connection = min(fits, key=lambda fit: (fit[1], fit[0]))
    rated = _nearest(band, volts)
    verdict = OTHER_TAP if len(bands) > 1 else FINE
    what = f"connected for {rated:g} V" if verdict == OTHER_TAP else f"stamped {rated:g} V"
    return Fit(verdict, f"{what}, gets {volts:g} V", volts, rated, connection, phases)


def _offers(row: Mapping[str, Any], phases: int) -> list[tuple[float, str]]:
    line = [(row["line_line_v"], "line_line")]
    return line if phases == 3 else [*line, (row["line_neutral_v"], "line_neutral")]


def _windings(plate: Nameplate) -> list[tuple[float, float]]:
    """Each winding as lowest and highest stamped volts."""
    inside = [v for v in plate.volts if not any(a <= v <= b for a, b in plate.volt_ranges)]
    return sorted({*plate.volt_ranges, *((v, v) for v in inside)})


def _nearest(band: tuple[float, float], volts: float) -> float:
    return min(max(volts, band[0]), band[1])


def _within(load_class: str, band: tuple[float, float], volts: float) -> bool:
    limits = table("voltage_bands").row(load_class)
    low = limits["low_percent"] + limits["room_percent"]
    percent = 100 * (volts / _nearest(band, volts) - 1)
    return bool(low <= percent <= limits["high_percent"])


def _no_winding(plate: Nameplate, load_class: str, row: Mapping[str, Any], phases: int) -> Fit:
    stamped = "/".join(f"{v:g}" for v in plate.volts)
    offered = " or ".join(f"{v:g}" for v, _ in _offers(row, phases))
    band = source_line("voltage_bands", load_class)
    reason = f"stamped {stamped} V, {row['system']} gives {offered} V ({band})"
    return Fit(TRANSFORMER, reason, phases=phases)


def likely_system(loads: tuple[Load, ...]) -> str | None:
    """System that carries the most loads as stamped; ``None`` where no plate says anything."""
    counts = {s: sum(_carried(load, s) for load in loads) for s in SYSTEMS}
    best = max(SYSTEMS, key=lambda s: counts[s])
    return best if counts[best] else None


def _carried(load: Load, system: str) -> bool:
    return suits(load.nameplate, load.kind, system).carried


def settle_supply(requirement: Requirement, trace: Trace | None = None) -> SupplyPlan:
    """System for the whole request, each load's fit, and the doubts that go to a person."""
    asked = requirement.supply
    system = asked or likely_system(requirement.loads)
    if system is None:
        return SupplyPlan(None, (), (), (_unsure(None, requirement.loads),))
    fits = tuple(suits(x.nameplate, x.kind, system) for x in requirement.loads)
    findings = [] if asked else [_unsure(system, requirement.loads)]
    for index, (load, fit) in enumerate(zip(requirement.loads, fits, strict=True)):
        findings.extend(_fit_findings(index, load, fit, system))
        if trace is not None:
            trace.add("supply", f"{load.name} on {system}: {fit.verdict}; {fit.reason}")
    options = ("transformer", "two_sets", "person") if any(
        f.verdict == TRANSFORMER for f in fits
    ) else ()
    return SupplyPlan(system, fits, options, tuple(findings))


def _unsure(system: str | None, loads: tuple[Load, ...]) -> Finding:
    question = (
        f"The plates point to {system}. Is that the voltage at the connection?"
        if system
        else "Which voltages do the plates of the equipment give?"
    )
    return Finding(
        "supply_unsure",
        Severity.NEEDS_PERSON,
        "supply",
        "The voltage is not settled; a wrong voltage destroys equipment.",
        question,
        {"likely_system": system},
    )


def _fit_findings(index: int, load: Load, fit: Fit, system: str) -> list[Finding]:
    if fit.carried:
        return []
    plate, subject = load.nameplate, f"loads[{index}].nameplate"
    code = "voltage_mismatch"
    if plate.hertz and plate.hertz != 60:
        code = "frequency_mismatch"
    elif fit.verdict == NEVER:
        code = "phase_mismatch"
    elif fit.verdict == UNKNOWN:
        code = "nameplate_incomplete"
    evidence = {"stamped_volts": plate.volts, "supply": system, "stamped_hertz": plate.hertz}
    question = f"{load.name}: which voltage, phases and hertz does the plate give?"
    detail = f"{load.name}: {fit.reason}."
    return [Finding(code, Severity.NEEDS_PERSON, subject, detail, question, evidence)]
