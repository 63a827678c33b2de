"""Chapter 1, second half: what one piece draws while it runs, each figure on its own source."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import TYPE_CHECKING

from sizing.errors import OutsideTable
from sizing.finding import Finding, Severity
from sizing.motor_tables import kva_of, phase_root
from sizing.piece import STEADY_LAMPS, Figures, Piece, defaults_row, stamped_kva
from sizing.plate import LoadDemand, Nameplate
from sizing.plate_checks import plate_findings
from sizing.running_motor import motor_figures
from sizing.supply_fit import LOAD_CLASS, NEVER, Fit, suits
from sizing.tables import source_line, table
from sizing.trace import Trace

if TYPE_CHECKING:
    from sizing.requirement import Load


def load_demand(
    load: Load, index: int, system: str, trace: Trace | None = None
) -> tuple[LoadDemand | None, list[Finding]]:
    """Return what one piece of a row draws while it runs on a system, and the doubts of its plate.

    Parameters
    ----------
    load : Load
        One row of the requirement [-]
    index : int
        Place of the row in the requirement [-]
    system : str
        One of the four systems [-]
    trace : Trace, optional
        Takes a line for each figure where given [-]

    Returns
    -------
    tuple of LoadDemand or None, and list of Finding
        ``None`` where the load cannot be put on the system at all (three-phase on a single-phase
        one) or its plate gives no size [-]

    Raises
    ------
    TableRefused
        ``system`` is not one of the four.

    Notes
    -----
    What is stamped beats what is tabulated. Motors: P = hp x 0.7457 / efficiency and
    S = sqrt(3) V I / 1000, each on its own source; their ratio is not a power factor. A load that
    needs a transformer is counted on its primary side with the transformer's losses.

    Source: motor tables, load_kinds, lamp_input.
    """
    demand, findings = (
        _read(load, index, system) if trace is None else _written(load, index, system, trace)
    )
    return demand, list(findings)


@lru_cache(maxsize=2048)
def _read(load: Load, index: int, system: str) -> tuple[LoadDemand | None, tuple[Finding, ...]]:
    """As `load_demand`, remembered: the corners of what is not sure share most of their rows."""
    return _written(load, index, system, None)


def _written(
    load: Load, index: int, system: str, trace: Trace | None
) -> tuple[LoadDemand | None, tuple[Finding, ...]]:
    """As `load_demand`, worked out, with its lines where a trace is given."""
    fit = suits(load.nameplate, load.kind, system)
    findings = plate_findings(load, index, fit)
    if fit.verdict == NEVER and fit.phases == 3 and system == "120/240":
        return None, tuple(findings)
    piece = Piece(load, fit, _winding_volts(load.nameplate, fit, system), trace)
    try:
        figures = _READING[LOAD_CLASS[load.kind]](piece)
    except OutsideTable as outside:
        return None, (*findings, outside_table(load, index, outside))
    if figures is None:
        return None, (*findings, _no_size(load, index))
    return _demand(piece, figures, index, system), tuple(findings)


def outside_table(load: Load, index: int, outside: OutsideTable) -> Finding:
    """Return the finding for a size that no table covers."""
    return Finding(
        "outside_table", Severity.NEEDS_PERSON, f"loads[{index}].nameplate",
        f"{load.name}: {outside}.",
        f"{load.name}: what are the full-load amps, efficiency and locked-rotor amps on the plate?",
        {"value": outside.value, "low": outside.low, "high": outside.high, "unit": outside.unit},
    )  # fmt: skip


def _no_size(load: Load, index: int) -> Finding:
    return Finding(
        "nameplate_incomplete", Severity.NEEDS_PERSON, f"loads[{index}].nameplate",
        f"{load.name}: the plate gives no power, current or kVA; the load is not counted.",
        f"{load.name}: what does the plate say of hp, kW, kVA or amps?",
        {"text": load.nameplate.text},
    )  # fmt: skip


def _winding_volts(plate: Nameplate, fit: Fit, system: str) -> float:
    """Stamped voltage that the equations take; the system's where the plate has none."""
    if fit.rated_volts:
        return fit.rated_volts
    return max(plate.volts, default=0.0) or table("supply_systems").at("line_line_v", system)


def _demand(piece: Piece, figures: Figures, index: int, system: str) -> LoadDemand:
    load, fit, defaults = piece.load, piece.fit, piece.defaults
    volts, losses, connection = piece.volts, 0.0, fit.connection
    if load.kind == "heater" and fit.carried:
        volts = fit.volts
    if not fit.carried:
        volts, connection = table("supply_systems").at("line_line_v", system), "line_line"
        losses = table("load_kinds").at("losses_share", "transformer")
    kw, kva = figures.kw * (1 + losses), figures.kva * (1 + losses)
    nonlinear = 1.0 if load.starting == "vfd" else defaults["nonlinear_share"]
    return LoadDemand(
        index=index, name=load.name, kind=load.kind, quantity=load.quantity, volts=volts,
        phases=fit.phases, connection=connection,
        amps=kva * 1000 / (phase_root(fit.phases) * volts), running_kw=kw, running_kva=kva,
        power_factor=figures.power_factor, hp=figures.hp, nonlinear_kva=kva * nonlinear,
        third_harmonic_share=defaults["third_harmonic_share"],
        is_motor=LOAD_CLASS[load.kind] == "motor", demand_factor=load.demand_factor, supply=system,
        via=_via(fit), float_switch=bool(load.float_switch),
        restarts_itself=bool(load.float_switch or load.restarts_itself),
        starts_after=load.starts_after, never_with=load.never_with, starting=load.starting,
        lamp_type=load.nameplate.lamp_type,
    )  # fmt: skip


def _via(fit: Fit) -> str:
    if not fit.carried:
        return "transformer"
    return "direct" if fit.verdict == "fine" else "other_tap"


def _heater(piece: Piece) -> Figures | None:
    """Figures of a resistance: power goes with the square of the voltage."""
    plate, fit = piece.plate, piece.fit
    kw = _input_kw(piece) or (
        kva_of(piece.amps, piece.volts, fit.phases) if piece.amps else plate.kva or 0.0
    )
    if not kw:
        return None
    if fit.carried and fit.volts != fit.rated_volts:
        scaled = kw * (fit.volts / fit.rated_volts) ** 2
        line = f"P = {kw:.2f} kW x ({fit.volts:g} V / {fit.rated_volts:g} V)^2 = {scaled:.2f} kW"
        piece.note(line, "Joule's law at constant resistance")
        kw = scaled
    else:
        piece.note(f"P = S = {kw:.2f} kW", "nameplate")
    return Figures(kw, kw, 1.0)


def _input_kw(piece: Piece) -> float | None:
    """Stamped watts as electrical input [kW]; lamps take their ballast with them."""
    watts = piece.plate.watts
    if watts is None:
        return None
    if piece.load.kind != "lamp":
        return watts / 1000
    count = piece.plate.pieces or 1
    each = lamp_input_w(piece.plate.lamp_type, watts)
    if piece.trace is not None:
        line = f"P = {count} x {watts:g} W lamp, {each:.4g} W with ballast = {count * each:.0f} W"
        piece.note(line, source_line("lamp_input"))
    return count * each / 1000


def lamp_input_w(lamp_type: str | None, watts: float) -> float:
    """Return input of lamp and ballast together [W].

    Parameters
    ----------
    lamp_type : str or None
        As on the plate; unknown counts as a discharge lamp [-]
    watts : float
        Lamp power [W]

    Returns
    -------
    float
        Input power; the lamp's own where it has no ballast (LED, incandescent) [W]

    Raises
    ------
    TableRefused
        The table of rules is damaged.

    Notes
    -----
    A wattage that the table lacks takes the ballast share of the rules, at its upper end.

    Source: lamp_input; running_rules, ballast_share.
    """
    if lamp_type in STEADY_LAMPS:
        return watts
    row = table("lamp_input").index.get((lamp_type, watts))
    if row is not None:
        return float(row["input_w"])
    return watts * (1 + float(table("running_rules").at("value", "ballast_share")))


def _appliance(piece: Piece) -> Figures | None:
    """Figures of any other load: what is stamped, the rest by the kind's power factor.

    A UPS, a charger and a transformer state their output: losses and recharge come on top, except
    where input amperes are stamped.
    """
    plate, defaults = piece.plate, piece.defaults
    kw, kva = _input_kw(piece), plate.kva
    losses = 1 + defaults["losses_share"]
    if kw is not None or kva is not None:
        kw, kva = (None if kw is None else kw * losses), (None if kva is None else kva * losses)
    if piece.amps is not None and plate.kva is None:
        kva = stamped_kva(piece, piece.amps)
    elif plate.min_circuit_amps is not None and kw is None and kva is None:
        kva = stamped_kva(piece, plate.min_circuit_amps)
    return _filled(piece, kw, kva)


def _filled(piece: Piece, kw: float | None, kva: float | None) -> Figures | None:
    """Figures from real or apparent power or both, the missing one by power factor."""
    pf = piece.plate.power_factor or piece.defaults["power_factor"]
    if kw is None and kva is None:
        return None
    if kw is None:
        kw = float(kva or 0.0) * pf
    elif kva is None:
        kva = kw / pf
    elif piece.plate.power_factor is None and kw <= kva:
        pf = kw / kva
    figures = Figures(kw, max(float(kva or 0.0), kw), pf)
    if piece.trace is not None:
        line = f"P = {figures.kw:.2f} kW, S = {figures.kva:.2f} kVA, power factor {pf:.2f}"
        row = defaults_row(piece.load.kind, piece.plate)
        piece.note(line, source_line("load_kinds", row))
    return figures


_READING: dict[str, Callable[[Piece], Figures | None]] = {
    "motor": motor_figures, "heater": _heater, "ballast": _appliance, "panel": _appliance,
    "electronics": _appliance, "welder": _appliance, "transformer": _appliance,
}  # fmt: skip
