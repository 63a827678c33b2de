"""Chapter 1, second half: what one piece draws while it runs."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from sizing.errors import OutsideTable
from sizing.finding import Finding, Severity
from sizing.plate import LoadDemand, Nameplate
from sizing.supply import NEVER, Fit, suits
from sizing.tables import Table, source_line, table
from sizing.trace import Trace

if TYPE_CHECKING:
    from sizing.requirement import Load

KW_PER_HP = 0.7457
SQRT3 = math.sqrt(3)
MOTORS = ("motor", "pump", "compressor")


def load_demand(
    load: Load, index: int, system: str, trace: Trace | None = None
) -> tuple[LoadDemand | None, list[Finding]]:
    """What one piece of a row draws while it runs on a system."""
    fit = suits(load.nameplate, load.kind, system)
    if fit.verdict == NEVER and fit.phases == 3 and system == "120/240":
        return None, []
    try:
        kw, kva, pf, volts, line = _running(load, fit, system)
    except OutsideTable as outside:
        finding = Finding(
            "outside_table", Severity.NEEDS_PERSON, f"loads[{index}].nameplate", str(outside)
        )
        return None, [finding]
    if trace is not None:
        trace.add("nameplate", f"{load.name}: {line}", source_line("motor_current_three_phase"))
    amps = kva * 1000 / (volts * (SQRT3 if fit.phases == 3 else 1.0))
    kind_row = table("load_kinds").row(_row_name(load))
    demand = LoadDemand(
        index=index, name=load.name, kind=load.kind, quantity=load.quantity, volts=volts,
        phases=fit.phases, connection=fit.connection, amps=amps, running_kw=kw, running_kva=kva,
        power_factor=pf, hp=_hp(load.nameplate) if load.kind in (*MOTORS, "hvac") else None,
        nonlinear_kva=kva * kind_row["nonlinear_share"],
        third_harmonic_share=kind_row["third_harmonic_share"],
        is_motor=load.kind in (*MOTORS, "hvac"), demand_factor=load.demand_factor, supply=system,
        via="direct" if fit.carried else "transformer", float_switch=bool(load.float_switch),
        restarts_itself=bool(load.restarts_itself or load.float_switch),
        starts_after=load.starts_after, never_with=load.never_with,
        starting="across_the_line" if load.starting == "unsure" else load.starting,
    )  # fmt: skip
    return demand, []


def _row_name(load: Load) -> str:
    if load.kind == "lamp" and load.nameplate.lamp_type in ("led", "incandescent"):
        return load.nameplate.lamp_type
    return "hvac" if load.kind in MOTORS else load.kind


def _hp(plate: Nameplate) -> float | None:
    if plate.hp is not None:
        return plate.hp
    kw = plate.shaft_kw or (plate.watts or 0.0) / 1000
    return kw / KW_PER_HP or None


def _running(load: Load, fit: Fit, system: str) -> tuple[float, float, float, float, str]:
    plate = load.nameplate
    volts = fit.rated_volts or fit.volts or table("supply_systems").at("line_line_v", system)
    hp = _hp(plate)
    if load.kind in MOTORS and hp:
        return _motor(plate, hp, fit, volts)
    return _other(load, fit, volts)


def _motor(
    plate: Nameplate, hp: float, fit: Fit, volts: float
) -> tuple[float, float, float, float, str]:
    efficiency = plate.efficiency or motor_efficiency(hp, fit.phases)
    kw = hp * KW_PER_HP / efficiency
    pf = plate.power_factor or table("motor_power_factor").between("power_factor", hp)
    amps = _plate_amps(plate, volts)
    kva = _kva(amps, volts, fit.phases) if amps else plate.kva or table_kva(hp, fit.phases, volts)
    line = f"P = {hp:g} hp x {KW_PER_HP} / {efficiency:.3g} = {kw:.2f} kW, S = {kva:.2f} kVA"
    return kw, max(kva, kw), pf, volts, line


def _other(load: Load, fit: Fit, volts: float) -> tuple[float, float, float, float, str]:
    plate, row = load.nameplate, table("load_kinds").row(_row_name(load))
    pf = plate.power_factor or row["power_factor"]
    amps = _plate_amps(plate, volts) or (plate.min_circuit_amps or 0.0) / 1.15
    kw = (plate.watts or 0.0) / 1000
    if load.kind == "heater" and fit.rated_volts:
        kw *= (fit.volts / fit.rated_volts) ** 2
        volts = fit.volts
    kva = plate.kva or (kw / pf if kw else _kva(amps, volts, fit.phases))
    kva *= 1 + row["losses_share"]
    kw = kw * (1 + row["losses_share"]) or kva * pf
    return kw, max(kva, kw), pf, volts, f"P = {kw:.2f} kW, S = {kva:.2f} kVA"


def _plate_amps(plate: Nameplate, volts: float) -> float | None:
    if len(plate.amps) == len(plate.volts):
        near = sorted(zip(plate.volts, plate.amps, strict=True), key=lambda p: abs(p[0] - volts))
        return near[0][1] if near else None
    return plate.amps[0] if plate.amps else None


def _kva(amps: float, volts: float, phases: int) -> float:
    return (SQRT3 if phases == 3 else 1.0) * volts * amps / 1000


def motor_efficiency(hp: float, phases: int) -> float:
    rows = [r for r in table("motor_efficiency").rows if r["phases"] == phases]
    near = [r["efficiency_percent"] for r in rows]
    if hp < rows[0]["hp"] or hp > rows[-1]["hp"]:
        raise OutsideTable("motor_efficiency", hp, rows[0]["hp"], rows[-1]["hp"], "hp")
    below = max(i for i, r in enumerate(rows) if r["hp"] <= hp)
    if rows[below]["hp"] == hp:
        return float(near[below]) / 100
    return float(min(near[below], near[below + 1])) / 100


def table_kva(hp: float, phases: int, volts: float) -> float:
    name = "motor_current_three_phase" if phases == 3 else "motor_current_single_phase"
    current = table(name)
    column = nearest_column(current, volts)
    return _kva(current.between(column, hp), column_volts(column), phases)


def column_volts(column: str) -> float:
    return float(column.split("_")[1].rstrip("v"))


def nearest_column(current: Table, volts: float) -> str:
    """Column whose system voltages are nearest."""
    columns = [c for c in current.columns if c.startswith("amps_")]
    return min(columns, key=lambda c: abs(math.log(column_volts(c) / volts)))
