"""Chapter 2, first half: how one plate suits one system."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from sizing.plate import Nameplate
from sizing.tables import source_line, table

SYSTEMS = ("120/240", "208Y/120", "480Y/277", "240/120")
SET_HERTZ = 60.0
FINE, OTHER_TAP, TRANSFORMER, NEVER, UNKNOWN = (
    "fine",
    "other_tap",
    "transformer",
    "never",
    "unknown",
)
LOAD_CLASS = {
    "motor": "motor", "pump": "motor", "compressor": "motor", "hvac": "motor",
    "heater": "heater", "lamp": "ballast", "panel": "panel", "electronics": "electronics",
    "ups": "electronics", "charger": "electronics", "welder": "welder",
    "transformer": "transformer", "other": "electronics",
}  # fmt: skip
PLUG_KVA = 1.92  # 20 A at 120 V, 80 % of it for hours: what a plug is asked to carry
LARGEST_SINGLE_PHASE_HP = 3.0  # above it an unstamped motor on three phases is taken as three-phase
LARGEST_SINGLE_PHASE_KVA = 15.0


@dataclass(frozen=True, slots=True)
class Fit:
    """How a plate suits a system, and the winding and the volts that would be used.

    ``verdict`` is ``fine``, ``other_tap`` (the plate has several windings or taps: connected for
    this one), ``transformer``, ``never`` (nothing but another machine helps) or ``unknown``.
    ``volts`` is the system's voltage across the load and ``rated_volts`` the stamped one that it
    serves; both are 0 where none serves. ``near_miss`` marks a voltage close enough to be mistaken
    for the right one, such as 230 V on 208 V.
    """

    verdict: str
    reason: str
    volts: float = 0.0
    rated_volts: float = 0.0
    connection: str = "line_line"
    phases: int = 1
    near_miss: bool = False

    @property
    def carried(self) -> bool:
        """True where the set alone carries it, without a transformer or a second set."""
        return self.verdict in (FINE, OTHER_TAP)

    @property
    def off_percent(self) -> float:
        """How far the system lies from the stamped voltage [%]; 0 where none serves."""
        return 100 * (self.volts / self.rated_volts - 1) if self.rated_volts else 0.0


def suits(plate: Nameplate, kind: str, system: str) -> Fit:
    """Return how a plate suits a system.

    Parameters
    ----------
    plate : Nameplate
        What is stamped [-]
    kind : str
        One of the load kinds [-]
    system : str
        One of ``SYSTEMS`` [-]

    Returns
    -------
    Fit
        Verdict with its reason, the volts used [V] and the winding they serve [V]

    Raises
    ------
    KeyError
        ``kind`` is not a load kind.
    TableRefused
        ``system`` is not one of the four.

    Notes
    -----
    The system's nominal voltage over the stamped one must lie in the band of the load's class,
    with room on the low side of a motor's band for the drop in set and leads. A printed range
    counts from its ends. Frequency and phases come first: no tap cures them.

    Source: supply_systems, voltage_bands.
    """
    phases = phases_of(plate, kind, system)
    row = table("supply_systems").row(system)
    load_class = LOAD_CLASS[kind]
    if plate.hertz is not None and plate.hertz != SET_HERTZ:
        reason = f"stamped {plate.hertz:g} Hz; the sets run at {SET_HERTZ:g} Hz"
        return Fit(NEVER, reason, phases=phases)
    if phases == 3 and row["phases"] == 1:
        return Fit(NEVER, f"three-phase; {system} is single-phase", phases=3)
    if plate.system and load_class == "panel":
        return _panel_fit(plate.system, row, phases)
    if not plate.volts:
        return Fit(UNKNOWN, "the plate gives no voltage", phases=phases)
    return _best_winding(plate, load_class, row, phases)


def phases_of(plate: Nameplate, kind: str, system: str) -> int:
    """Return the phases of a load: stamped, else what its system, size and volts make likely.

    Parameters
    ----------
    plate : Nameplate
        What is stamped [-]
    kind : str
        One of the load kinds [-]
    system : str
        One of ``SYSTEMS`` [-]

    Returns
    -------
    int
        1 or 3 [-]

    Raises
    ------
    KeyError
        ``kind`` is not a load kind.

    Notes
    -----
    A transformer or a panel has the phases of the system it is stamped with. A motor over 3 hp
    or over 300 V, and any other load over 15 kVA, is taken as three-phase on a three-phase system.
    """
    if plate.phases is not None:
        return plate.phases
    stamped = plate.secondary or (plate.system if LOAD_CLASS[kind] == "panel" else "")
    if stamped:
        return 1 if stamped == "120/240" else 3
    if table("supply_systems").at("phases", system) == 1:
        return 1
    return 3 if _is_large(plate, LOAD_CLASS[kind], system) else 1


def phases_assumed(plate: Nameplate, kind: str) -> bool:
    """True where the plate neither states its phases nor is stamped with a system."""
    panel = LOAD_CLASS[kind] == "panel"
    return plate.phases is None and not (plate.secondary or (panel and plate.system))


def _is_large(plate: Nameplate, load_class: str, system: str) -> bool:
    kva = plate.kva or (plate.watts or 0.0) / 1000
    if load_class == "motor":
        hp = plate.hp or (plate.shaft_kw or 0.0) / 0.7457
        return hp > LARGEST_SINGLE_PHASE_HP or kva > 5.0 or max(plate.volts, default=0.0) > 300
    if load_class == "panel":
        return table("supply_systems").at("line_line_v", system) in plate.volts
    return kva > LARGEST_SINGLE_PHASE_KVA


def _panel_fit(stamped: str, row: Mapping[str, Any], phases: int) -> Fit:
    """Fit of a panel that is stamped with a system: the same one, or part of it."""
    system, volts = row["system"], row["line_line_v"]
    if stamped == system:
        return Fit(FINE, f"stamped {stamped}", volts, volts, phases=phases)
    if (stamped, system) == ("120/240", "240/120"):
        reason = "stamped 120/240: between the two legs that are not the high leg"
        return Fit(FINE, reason, volts, volts, phases=1)
    near = {stamped, system} <= {"120/240", "208Y/120", "240/120"}
    reason = f"stamped {stamped}; {system} gives {volts:g} V between lines"
    return Fit(TRANSFORMER, reason, phases=phases, near_miss=near)


def _best_winding(plate: Nameplate, load_class: str, row: Mapping[str, Any], phases: int) -> Fit:
    """Fit of the stamped winding that suits one of the system's voltages best."""
    bands = windings(plate.volts, plate.volt_ranges)
    offers = _offers(plate, load_class, row, phases)
    for volts, connection in offers:
        fitting = [band for band in bands if within(load_class, band, volts)]
        if fitting:
            band = min(fitting, key=lambda b: abs(volts / nearest(b, volts) - 1))
            return _fit(volts, connection, band, len(bands), phases)
    return _no_winding(plate, bands, offers, row["system"], load_class, phases)


def _fit(volts: float, connection: str, band: tuple[float, float], count: int, phases: int) -> Fit:
    rated = nearest(band, volts)
    stamped = f"{band[0]:g} V" if band[0] == band[1] else f"{band[0]:g}-{band[1]:g} V"
    what = f"connected for {stamped}" if count > 1 else f"stamped {stamped}"
    verdict = OTHER_TAP if count > 1 else FINE
    return Fit(verdict, f"{what}, gets {volts:g} V", volts, rated, connection, phases)


def _offers(
    plate: Nameplate, load_class: str, row: Mapping[str, Any], phases: int
) -> list[tuple[float, str]]:
    """Voltages of a system for one load: between lines first, small plug-in things to neutral."""
    line, neutral = (row["line_line_v"], "line_line"), (row["line_neutral_v"], "line_neutral")
    if phases == 3:
        return [line]
    kva = plate.kva or (plate.watts or 0.0) / 1000 or 120 * max(plate.amps, default=99.0) / 1000
    plug = load_class == "electronics" and kva <= PLUG_KVA
    return [neutral, line] if plug else [line, neutral]


@lru_cache(maxsize=1024)
def windings(
    volts: tuple[float, ...], volt_ranges: tuple[tuple[float, float], ...]
) -> tuple[tuple[float, float], ...]:
    """Return each winding as its lowest and highest stamped volts, ascending [V]."""
    single = {(v, v) for v in volts if not any(low <= v <= high for low, high in volt_ranges)}
    return tuple(sorted({*volt_ranges, *single}))


def nearest(band: tuple[float, float], volts: float) -> float:
    """Return the stamped voltage of a winding that lies nearest [V]."""
    return min(max(volts, band[0]), band[1])


@lru_cache(maxsize=4096)
def within(load_class: str, band: tuple[float, float], volts: float) -> bool:
    """True where a system's voltage lies in the band of a load class around a winding."""
    limits = table("voltage_bands").row(load_class)
    low = limits["low_percent"] + limits["room_percent"]
    off = 100 * (volts / nearest(band, volts) - 1)
    return bool(low - 1e-9 <= off <= limits["high_percent"] + 1e-9)


def _no_winding(
    plate: Nameplate, bands: Sequence[tuple[float, float]], offers: Sequence[tuple[float, str]],
    system: str, load_class: str, phases: int,
) -> Fit:  # fmt: skip
    """Fit where no stamped winding meets a voltage of the system, with the closest pair named."""
    pairs = [(volts, nearest(band, volts)) for volts, _ in offers for band in bands]
    volts, rated = min(pairs, key=lambda pair: abs(pair[0] / pair[1] - 1))
    off = 100 * (volts / rated - 1)
    stamped = "/".join(f"{v:g}" for v in plate.volts)
    reason = (
        f"stamped {stamped} V; {system} gives {volts:g} V, {off:+.1f} % on {rated:g} V "
        f"({source_line('voltage_bands', load_class)})"
    )
    return Fit(TRANSFORMER, reason, phases=phases, near_miss=_near(bands, offers))


def _near(bands: Sequence[tuple[float, float]], offers: Sequence[tuple[float, str]]) -> bool:
    """True where a stamped voltage could be mistaken for one of the system's: 230 V on 208 V.

    277 V to neutral is left out: 240 V on it is no slip, it is another system.
    """
    limit = table("supply_rules").at("value", "near_miss_percent")
    meant = [volts for volts, connection in offers if connection == "line_line" or volts <= 120]
    return any(
        100 * abs(volts / nearest(band, volts) - 1) <= limit for volts in meant for band in bands
    )
