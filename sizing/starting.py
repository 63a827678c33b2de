"""Chapter 3: what a load asks for in the moment it starts."""

from __future__ import annotations

from dataclasses import dataclass

from sizing.finding import Finding, Severity
from sizing.plate import LoadDemand, Nameplate
from sizing.running import SQRT3, nearest_column
from sizing.tables import source_line, table
from sizing.trace import Trace


@dataclass(frozen=True, slots=True)
class StartDemand:
    """Starting demand of one piece: apparent and real power on the line and their ratio."""

    index: int
    name: str
    quantity: int
    start_kva: float
    start_kw: float
    start_power_factor: float
    basis: str  # "code_letter", "locked_rotor_amps", "table", "inrush", "none"
    method: str


def start_demand(
    demand: LoadDemand, plate: Nameplate, trace: Trace | None = None
) -> tuple[StartDemand, list[Finding]]:
    """Starting demand of one piece on the line, by plate, table and starting method."""
    findings: list[Finding] = []
    if demand.is_motor:
        kva, pf, basis = _motor_start(demand, plate, findings)
    else:
        row = table("load_kinds").row(_row_name(demand, plate))
        kva, pf = demand.running_kva * row["start_multiple"], row["start_power_factor"]
        basis = "inrush" if row["start_multiple"] > 1 else "none"
    kva = max(kva, demand.running_kva)
    if trace is not None:
        trace.add("starting", f"{demand.name}: S = {kva:.1f} kVA at pf {pf:.2f} ({basis})")
    start = StartDemand(
        demand.index, demand.name, demand.quantity, kva, kva * pf, pf, basis, demand.starting
    )
    return start, findings


def _row_name(demand: LoadDemand, plate: Nameplate) -> str:
    if demand.kind == "lamp" and plate.lamp_type in ("led", "incandescent"):
        return plate.lamp_type
    return demand.kind


def _motor_start(
    demand: LoadDemand, plate: Nameplate, findings: list[Finding]
) -> tuple[float, float, str]:
    locked, basis = locked_rotor_kva(demand, plate, findings)
    method = table("starting_methods").row(demand.starting)
    if method["kva_share"] is not None:
        kva = locked * method["kva_share"]
    else:
        kva = min(locked, demand.running_kva * method["full_load_multiple"])
    pf = table("starting_power_factor").between("power_factor", min(demand.hp or 3.0, 1000.0))
    return kva, demand.power_factor if demand.starting == "vfd" else pf, basis


def locked_rotor_kva(
    demand: LoadDemand, plate: Nameplate, findings: list[Finding]
) -> tuple[float, str]:
    """Locked-rotor kVA across the line and what it rests on."""
    root = SQRT3 if demand.phases == 3 else 1.0
    if plate.locked_rotor_amps:
        return root * demand.volts * plate.locked_rotor_amps / 1000, "locked_rotor_amps"
    if plate.code_letter and demand.hp:
        top = table("code_letters").row(plate.code_letter)["kva_per_hp_to"]
        if top is not None:
            return top * demand.hp, "code_letter"
        findings.append(_open_letter(demand, plate.code_letter))
    if demand.hp:
        return _table_kva(demand), "table"
    return table("load_kinds").at("start_multiple", "hvac") * demand.running_kva, "inrush"


def _open_letter(demand: LoadDemand, letter: str) -> Finding:
    return Finding(
        "code_letter_open",
        Severity.NEEDS_PERSON,
        f"loads[{demand.index}].nameplate",
        f"{demand.name}: code {letter} has no upper end; {source_line('code_letters')}",
        f"{demand.name}: what are the locked-rotor amps (LRA) on the plate?",
        {"code_letter": letter},
    )


def _table_kva(demand: LoadDemand) -> float:
    three = demand.phases == 3
    locked = table("locked_rotor_three_phase" if three else "locked_rotor_single_phase")
    column = nearest_column(locked, demand.volts)
    volts = float(column.split("_")[1].rstrip("v"))
    hp = max(demand.hp or 0.5, 0.5)
    return (SQRT3 if three else 1.0) * volts * locked.between(column, hp) / 1000
