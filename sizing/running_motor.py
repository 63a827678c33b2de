"""Chapter 1: running figures of motors and air conditioners, each on its own source."""

from __future__ import annotations

from sizing.errors import OutsideTable
from sizing.motor_tables import (
    KW_PER_HP,
    efficiency_source,
    full_load_kva,
    motor_efficiency,
    motor_power_factor,
    phase_root,
)
from sizing.piece import Figures, Piece, is_cooling_unit, locked_rotor_at, product_line, stamped_kva
from sizing.plate import Nameplate
from sizing.plate_checks import least_share
from sizing.tables import source_line, table


def motor_hp(plate: Nameplate) -> float | None:
    """Return rated shaft power [hp]; kW and W on a motor's plate are its output."""
    if plate.hp is not None:
        return plate.hp
    kw = plate.shaft_kw or (plate.watts or 0.0) / 1000
    return kw / KW_PER_HP if kw else None


def motor_figures(piece: Piece) -> Figures | None:
    """Figures of a motor, a pump, a compressor, or an air conditioner's compressor."""
    if is_cooling_unit(piece.load.kind, piece.plate):
        return _air_conditioner(piece)
    hp = motor_hp(piece.plate)
    if hp is None:
        return _motor_by_amps(piece)
    kw = _motor_kw(piece, hp)
    kva = _motor_kva(piece, hp)
    pf = piece.plate.power_factor or motor_power_factor(hp)
    return Figures(kw, max(kva, kw), pf, hp)


def _motor_kw(piece: Piece, hp: float) -> float:
    stamped = piece.plate.efficiency
    efficiency = stamped or motor_efficiency(hp, piece.fit.phases)
    kw = hp * KW_PER_HP / efficiency
    if piece.trace is not None:
        source = "nameplate" if stamped else efficiency_source(hp, piece.fit.phases)
        piece.note(f"P = {hp:.4g} hp x {KW_PER_HP} / {efficiency:.4g} = {kw:.2f} kW", source)
    return kw


def _motor_kva(piece: Piece, hp: float) -> float:
    """Apparent power from amperes or kVA; from the code's table where neither is believable."""
    kva = piece.plate.kva
    if piece.amps is not None:
        kva = stamped_kva(piece, piece.amps)
        if not too_small(kva, hp, piece.fit.phases, piece.volts):
            return kva
        piece.note("stamped amps contradict the size; the larger figure counts", "nameplate_bands")
    elif kva is not None:
        piece.note(f"S = {kva:.4g} kVA", "nameplate")
        return kva
    return _table_kva(piece, hp)


def too_small(kva: float, hp: float, phases: int, volts: float) -> bool:
    """True where stamped kVA lie so far under the code's table that size or voltage is misread."""
    try:
        return kva < least_share(hp) * full_load_kva(hp, phases, volts)
    except OutsideTable:
        return False


def _table_kva(piece: Piece, hp: float) -> float:
    kva = full_load_kva(hp, piece.fit.phases, piece.volts)
    if piece.trace is not None:
        three = piece.fit.phases == 3
        name = "motor_current_three_phase" if three else "motor_current_single_phase"
        amps = kva * 1000 / (phase_root(piece.fit.phases) * piece.volts)
        line = f"full-load current of the table, {product_line(piece, amps, kva)}"
        piece.note(line, source_line(name))
    return kva


def _motor_by_amps(piece: Piece) -> Figures | None:
    """Figures of a motor whose plate gives no power: from amperes, LRA or circuit ampacity."""
    amps = piece.amps or _amps_from_others(piece)
    if amps is None and piece.plate.kva is None:
        return None
    kva = stamped_kva(piece, amps) if amps is not None else float(piece.plate.kva or 0.0)
    hp = kva / table("running_rules").at("value", "kva_per_hp")
    pf = piece.plate.power_factor or motor_power_factor(max(hp, 0.1))
    kw = kva * pf
    piece.note(f"P = {kva:.2f} kVA x {pf:.2f} = {kw:.2f} kW", source_line("motor_power_factor"))
    return Figures(kw, kva, pf, hp)


def _amps_from_others(piece: Piece) -> float | None:
    """Running amperes where only circuit ampacity or locked-rotor amperes are stamped [A]."""
    plate, locked = piece.plate, locked_rotor_at(piece.plate, piece.volts)
    if plate.min_circuit_amps is not None:
        rule = "circuit_ampacity_hvac" if piece.load.kind == "hvac" else "circuit_ampacity_motor"
        return _shared(piece, plate.min_circuit_amps, rule, "minimum circuit ampacity")
    if locked is not None:
        amps = locked[0] * locked[1] / piece.volts
        return _shared(piece, amps, "locked_rotor_multiple", "locked-rotor amps")
    return None


def _shared(piece: Piece, amps: float, rule: str, what: str) -> float:
    factor = table("running_rules").at("value", rule)
    running = amps / factor
    if piece.trace is not None:
        line = f"I = {what} {amps:.4g} A / {factor:g} = {running:.2f} A"
        piece.note(line, source_line("running_rules", rule))
    return float(running)


def _air_conditioner(piece: Piece) -> Figures | None:
    """Figures of an air conditioner: amperes of compressor and fan, else what its size needs.

    Electric heat stamped in watts does not run with the cooling: the larger counts.
    """
    plate, pf = piece.plate, piece.plate.power_factor or piece.defaults["power_factor"]
    amps = piece.amps or _amps_from_others(piece)
    cooling = stamped_kva(piece, amps) if amps is not None else _cooling_kva(piece, pf)
    heating = (plate.watts or 0.0) / 1000
    if not cooling and not heating:
        return None
    if heating:
        piece.note(
            f"electric heat P = S = {heating:.2f} kW; the larger of both counts", "nameplate"
        )
    kw = max(cooling * pf, heating)
    hp = cooling * pf / KW_PER_HP or None
    return Figures(kw, max(cooling, heating), pf if cooling * pf >= heating else 1.0, hp)


def _cooling_kva(piece: Piece, pf: float) -> float:
    if piece.plate.kva is not None:
        piece.note(f"S = {piece.plate.kva:.4g} kVA", "nameplate")
        return piece.plate.kva
    if piece.plate.cooling_btu_h is None:
        return 0.0
    ratio = table("running_rules").at("value", "cooling_btu_per_wh")
    kw = piece.plate.cooling_btu_h / ratio / 1000
    line = f"P = {piece.plate.cooling_btu_h:,.0f} Btu/h / {ratio:g} Btu/Wh = {kw:.2f} kW"
    piece.note(line, source_line("running_rules", "cooling_btu_per_wh"))
    return float(kw / pf)
