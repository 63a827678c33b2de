"""Chapter 10: the leads from the set to the load: size, runs, drop, and how they connect."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from sizing.ampacity import (
    CORD,
    LeadSize,
    ambient_factor,
    bundle_factor,
    lead_sizes,
    run_ampacity_a,
)
from sizing.errors import OutsideTable
from sizing.protection import grounding_size, most_protection_a, next_rating_a
from sizing.tables import source_line, table
from sizing.trace import Trace
from sizing.voltage_drop import (
    KFT_M,
    effective_impedance,
    is_single_phase,
    line_volts,
    voltage_drop_percent,
)

CONDUCTORS = {
    "120/240": ("leg 1", "leg 2"),
    "208Y/120": ("phase A", "phase B", "phase C"),
    "480Y/277": ("phase A", "phase B", "phase C"),
    "240/120": ("phase A", "phase B", "phase C"),
}


@dataclass(frozen=True, slots=True)
class Leads:
    """Chosen leads. ``size`` is AWG or kcmil as stamped; ``connection`` names the terminals used.

    ``ampacity_a`` is that of all runs together, at the site. ``protection_a`` is the largest
    breaker that still protects them. ``neutral_runs`` is above ``runs_per_phase`` where electronic
    loads fill the neutral. ``assumptions`` go on the sheet; ``basis`` is what the leads were asked
    for, so that a set without the usual terminals can have others chosen.
    """

    size: str
    runs_per_phase: int
    length_m: float
    design_amps: float
    ampacity_a: float
    voltage_drop_percent: float
    connection: str  # "receptacle", "cam_lock", "lugs"
    connection_order: tuple[str, ...] = ()
    make: str = ""  # "cord" or "single"
    protection_a: float = 0.0
    grounding_size: str = ""
    neutral_runs: int = 1
    passed: bool = True
    assumptions: tuple[str, ...] = ()
    basis: LeadBasis | None = None


@dataclass(frozen=True, slots=True)
class LeadBasis:
    """What leads are asked for; ``cords`` is false where no receptacle takes a cord."""

    amps: float
    continuous: bool
    length_m: float
    system: str
    power_factor: float
    ambient_c: float
    neutral_amps: float = 0.0
    neutral_loaded: bool = False
    fit_for_a: float = 0.0
    cords: bool = True

    @property
    def share(self) -> float:
        """What counts of a current: 1.25 where it is continuous."""
        return _rule("continuous") / 100 if self.continuous else 1.0

    @property
    def design_amps(self) -> float:
        """Current the leads are sized for [A]."""
        return self.amps * self.share

    @property
    def current_carrying(self) -> int:
        """Loaded conductors of a run."""
        return 4 if self.neutral_loaded else 3


def leads(
    amps: float,
    continuous: bool,
    length_m: float,
    system: str,
    power_factor: float,
    ambient_c: float,
    trace: Trace | None = None,
    *,
    neutral_amps: float = 0.0,
    neutral_loaded: bool = False,
    fit_for_a: float = 0.0,
    cords: bool = True,
) -> Leads:
    """Smallest leads kept for hire that carry the current and hold the voltage drop.

    Ampacity of all runs >= 1.25 I (continuous), and fit for the breaker; drop = k I Ze L/V <= 3 %.

    Parameters
    ----------
    amps : float
        Current of the worst line [A], above 0
    continuous : bool
        Whether it flows for three hours or more: then 125 % [-]
    length_m : float
        One way from set to load [m], 0 or more
    system : str
        One of ``SUPPLIES`` [-]
    power_factor : float
        Of the whole load, 0 to 1 [-]
    ambient_c : float
        Air at the leads [degC], up to 70
    trace : Trace or None
        Takes the lines of the choice where given [-]
    neutral_amps : float
        Current of the neutral where it may exceed a line's, 0 if not [A]
    neutral_loaded : bool
        Whether electronic loads load the neutral, which then heats the leads too [-]
    fit_for_a : float
        Rating of the breaker that protects the leads, 0 where it is set to suit [A]
    cords : bool
        Whether a cord may go: false where the set has no receptacle for it [-]

    Returns
    -------
    Leads
        Size, runs, ampacity [A], drop [%], terminals; ``passed`` is false where even the most
        runs kept do not do, which a person must settle [-]

    Raises
    ------
    OutsideTable
        Hotter than the ampacity tables go.
    ValueError
        The power factor is above 1.

    Notes
    -----
    Leads lie bundled on the ground: ampacity is that of three conductors together, not that of
    single conductors in free air; runs in parallel are laid apart by at least a lead's width.
    Fewest runs win over least copper. Parallel runs from 1/0 up only. The rest of the 5 % in all
    is left to the wiring beyond. The drop takes the current that flows, not 125 % of it.

    Examples
    --------
    >>> found = leads(150.0, True, 30.0, "480Y/277", 0.8, 35.0)
    >>> found.size, found.runs_per_phase, found.connection
    ('2/0', 1, 'cam_lock')

    Source: NEC 2023, 215.2(A), 400.5(A), 310.10(G), 240.4; Chapter 9 tables 8 and 9.
    """
    basis = LeadBasis(
        amps, continuous, length_m, system, power_factor, ambient_c,
        neutral_amps, neutral_loaded, fit_for_a, cords,
    )  # fmt: skip
    lead, runs, passed = _choice(basis)
    chosen = _leads(lead, runs, passed, basis)
    if trace:
        _write(trace, lead, chosen, basis)
    return chosen


def _rule(name: str) -> float:
    return float(table("lead_rules").at("value", name))


def _choice(basis: LeadBasis) -> tuple[LeadSize, int, bool]:
    """First candidate that does; else the last, which does not."""
    limit = _rule("feeder_drop")
    for lead, runs in _candidates(basis):
        if _carries(lead, runs, basis) and _drop(lead, runs, basis) <= limit:
            return lead, runs, True
    return lead_sizes()[-1], int(_rule("most_runs")), False


def _candidates(basis: LeadBasis) -> Iterator[tuple[LeadSize, int]]:
    """Sizes by rising runs, then area."""
    for runs in range(1, int(_rule("most_runs")) + 1):
        yield from ((lead, runs) for lead in _kept(runs, basis))


def _kept(runs: int, basis: LeadBasis) -> list[LeadSize]:
    """Sizes that may lie in so many runs; cords only for a receptacle and where not too hot."""
    if runs > 1:
        return [lead for lead in lead_sizes() if lead.parallel]
    small = basis.design_amps <= _rule("cord_limit")
    cords = basis.cords and small and _cords_allowed(basis.ambient_c)
    return [lead for lead in lead_sizes() if cords or lead.make != CORD]


def _cords_allowed(ambient_c: float) -> bool:
    try:
        return ambient_factor(ambient_c, CORD) > 0
    except OutsideTable:
        return False


def _carries(lead: LeadSize, runs: int, basis: LeadBasis) -> bool:
    ampacity_a = runs * run_ampacity_a(lead, basis.ambient_c, basis.current_carrying)
    enough = ampacity_a >= basis.design_amps
    return enough and most_protection_a(ampacity_a) >= basis.fit_for_a


def _drop(lead: LeadSize, runs: int, basis: LeadBasis) -> float:
    impedance = effective_impedance(
        lead.resistance_ohm_per_kft, lead.reactance_ohm_per_kft, basis.power_factor
    )
    return voltage_drop_percent(basis.amps / runs, impedance, basis.length_m, basis.system)


def _leads(lead: LeadSize, runs: int, passed: bool, basis: LeadBasis) -> Leads:
    ampacity_a = runs * run_ampacity_a(lead, basis.ambient_c, basis.current_carrying)
    per_run = ampacity_a / runs
    connection = terminals(lead.make, basis.design_amps)
    return Leads(
        lead.size,
        runs,
        basis.length_m,
        basis.design_amps,
        ampacity_a,
        _drop(lead, runs, basis),
        connection,
        connection_order(basis.system) if connection == "cam_lock" else (),
        lead.make,
        most_protection_a(ampacity_a),
        _grounding(lead, runs, basis),
        max(runs, math.ceil(basis.neutral_amps * basis.share / per_run)),
        passed,
        _assumptions(lead, runs, basis),
        basis,
    )


def _grounding(lead: LeadSize, runs: int, basis: LeadBasis) -> str:
    """Equipment ground of each run, enlarged where the drop enlarged the phases."""
    least = next((c for c in _kept(runs, basis) if _carries(c, runs, basis)), lead)
    protection_a = max(basis.fit_for_a, next_rating_a(basis.design_amps))
    return grounding_size(protection_a, max(1.0, lead.area_cmil / least.area_cmil))


def _assumptions(lead: LeadSize, runs: int, basis: LeadBasis) -> tuple[str, ...]:
    said = [f"ampacity of three conductors together, {_column(lead)}, not of free air"]
    if runs > 1:
        said.append("parallel runs alike in length and size, laid apart by a lead's width")
    if basis.current_carrying > 3:
        said.append("the neutral counts as loaded")
    return tuple(said)


def _column(lead: LeadSize) -> str:
    return "cord table" if lead.make == CORD else "75 degC"


def terminals(make: str, design_amps: float) -> str:
    """Terminals on which leads of a make end, for a current.

    Parameters
    ----------
    make : str
        ``cord`` or ``single``: a long way makes even a small load single conductors [-]
    design_amps : float
        Current at 125 % where continuous [A]

    Returns
    -------
    str
        ``receptacle`` for cords, ``cam_lock`` up to 400 A, ``lugs`` above [-]

    Raises
    ------
    TableRefused
        The table is damaged.

    Source: sizing/tables/lead_rules.csv.
    """
    if make == CORD:
        return "receptacle"
    return "cam_lock" if design_amps <= _rule("cam_limit") else "lugs"


def connection_order(system: str) -> tuple[str, ...]:
    """Conductors in the order in which single-pole connectors are mated; undone in reverse.

    Parameters
    ----------
    system : str
        One of ``SUPPLIES`` [-]

    Returns
    -------
    tuple of str
        Ground, neutral, then the phases [-]

    Raises
    ------
    KeyError
        Not one of the systems.

    Examples
    --------
    >>> connection_order("120/240")
    ('ground', 'neutral', 'leg 1', 'leg 2')

    Source: NEC 2023, 406.13; California Title 8 section 2584.7.
    """
    first = [r["conductor"] for r in table("connection_order").rows if r["conductor"] != "phases"]
    return (*first, *CONDUCTORS[system])


def remaining_drop_percent(chosen: Leads) -> float:
    """What the wiring beyond the leads may still drop [%]: 5 % in all less the leads' own.

    Parameters
    ----------
    chosen : Leads
        The leads [-]

    Returns
    -------
    float
        Percent of the voltage left, 0 or more [%]

    Raises
    ------
    TableRefused
        The table is damaged.

    Source: NEC 2023, 215.2(A)(2) informational note.
    """
    return max(0.0, _rule("total_drop") - chosen.voltage_drop_percent)


def _write(trace: Trace, lead: LeadSize, chosen: Leads, basis: LeadBasis) -> None:
    rule = table("lead_rules")
    line = f"I = {basis.amps:.1f} A x {basis.share:g} = {basis.design_amps:.1f} A"
    trace.add("leads", line, str(rule.at("source", "continuous")))
    heat, bundle = ambient_factor(basis.ambient_c, lead.make), bundle_factor(basis.current_carrying)
    line = f"{chosen.runs_per_phase} x {lead.size}: {lead.base_a:g} A x {heat:g} x {bundle:g}"
    line = f"{line} x {chosen.runs_per_phase} = {chosen.ampacity_a:.1f} A"
    carried = "flexible_cord" if lead.make == CORD else "portable_cable"
    trace.add("leads", f"{line} ({chosen.assumptions[0]})", source_line(carried))
    _write_drop(trace, lead, chosen, basis)


def _write_drop(trace: Trace, lead: LeadSize, chosen: Leads, basis: LeadBasis) -> None:
    r, x = lead.resistance_ohm_per_kft, lead.reactance_ohm_per_kft
    ze, sine = effective_impedance(r, x, basis.power_factor), math.sqrt(1 - basis.power_factor**2)
    line = f"Ze = {r:g} x {basis.power_factor:.3f} + {x:g} x {sine:.3f} = {ze:.4f} ohm/kft"
    trace.add("leads", line, source_line("conductor_impedance"))
    k = "2" if is_single_phase(basis.system) else "sqrt(3)"
    line = f"Drop = {k} x {basis.amps:.1f} A / {chosen.runs_per_phase} x {ze:.4f} ohm/kft"
    line = f"{line} x {basis.length_m / KFT_M:.4f} kft / {line_volts(basis.system):g} V"
    line = f"{line} = {chosen.voltage_drop_percent:.2f} %"
    trace.add("leads", line, str(table("lead_rules").at("source", "feeder_drop")))
