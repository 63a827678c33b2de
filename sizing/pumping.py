"""Chapter 9: the pumps on float switches: their blocks of the day, their starts and the doubts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from sizing.day import Block, Window
from sizing.errors import OutsideTable
from sizing.finding import Finding, Severity
from sizing.nameplate import LoadDemand
from sizing.pump_power import implied_head_m, rate_is_plausible
from sizing.requirement import Requirement, Sump
from sizing.sump import (
    PumpDuty,
    StartAllowance,
    needed_volume_l,
    poles_of,
    pump_duty,
    start_allowance,
)
from sizing.tables import source_line, table
from sizing.trace import Trace


class Pumping(NamedTuple):
    """What the pumps on float switches add to the day; empty where there is none."""

    blocks: tuple[Block, ...] = ()
    engine_starts_per_hour: float = 0.0
    starts_per_hour: float | None = None
    starts_allowed_per_hour: float | None = None
    basis: str = ""
    findings: tuple[Finding, ...] = ()


def pumping(
    requirement: Requirement,
    demands: Sequence[LoadDemand],
    window: Window,
    trace: Trace | None = None,
) -> Pumping:
    """Pumps on float switches over the day.

    Parameters
    ----------
    requirement : Requirement
        Its sump, and its plates for the motors' speed [-]
    demands : sequence of LoadDemand, shape (n,)
        Rows; those on a float switch count [-]
    window : Window
        Hours in which the pumps may run [h].
    trace : Trace or None
        Where the lines go [-]

    Returns
    -------
    Pumping
        Blocks [kW], starts of one motor at the worst inflow and allowed [1/h], findings.

    Raises
    ------
    ZeroDivisionError
        The pump rate is zero.

    Notes
    -----
    All pumps on float switches stand in the one sump and pump at the one rate; the largest counts
    as the one that leads.

    Source: MIL-HDBK-1005/9A, 2.5.3.6; NEMA MG 10 table 7; UFC 3-240-04A table 7-1.
    """
    rows = [d for d in demands if d.float_switch]
    if not rows:
        return Pumping()
    allowed, findings = _allowance(requirement, rows)
    pieces = sorted((_piece_kw(d) for d in rows for _ in range(d.quantity)), reverse=True)
    sump = requirement.site.sump or Sump()
    duty = pump_duty(sump, len(pieces), 3600 / allowed.starts_per_hour if allowed else None)
    doubts = _doubts(sump, duty, allowed, len(pieces)) + _implausible(rows, sump)
    if trace:
        _write(trace, sump, duty, allowed, _speed_said(requirement, rows))
    return Pumping(
        _blocks(pieces, duty, window),
        duty.starts_per_hour,
        duty.worst_starts_per_hour,
        allowed.starts_per_hour if allowed else None,
        duty.assumed or "pumps by inflow, rate and volume of the sump",
        tuple(findings + doubts),
    )


def _piece_kw(demand: LoadDemand) -> float:
    return demand.running_kw * demand.demand_factor


def _blocks(pieces: Sequence[float], duty: PumpDuty, window: Window) -> tuple[Block, ...]:
    through = Block(sum(pieces[: duty.through]), window)
    if duty.duty <= 0:
        return (through,)
    return through, Block(pieces[duty.through], window, duty.duty)


def _allowance(
    requirement: Requirement, rows: Sequence[LoadDemand]
) -> tuple[StartAllowance | None, list[Finding]]:
    """Least allowance of the motors; a motor outside the tables goes to a person."""
    found, findings = [], []
    for row in rows:
        if row.hp is None:
            continue
        rpm = requirement.loads[row.index].nameplate.rpm
        try:
            found.append(start_allowance(row.hp, poles_of(rpm)))
        except OutsideTable as outside:
            findings.append(_outside(row, outside))
    least = min(found, key=lambda a: a.starts_per_hour, default=None)
    return (None if findings else least), findings


def _outside(row: LoadDemand, outside: OutsideTable) -> Finding:
    return Finding(
        "outside_table",
        Severity.NEEDS_PERSON,
        f"loads[{row.index}]",
        f"{row.name}: {outside}; the motor maker decides how often it may start.",
        "How many starts an hour does the motor's maker allow?",
    )


def _doubts(
    sump: Sump, duty: PumpDuty, allowed: StartAllowance | None, pumps: int
) -> list[Finding]:
    doubts = [_overrun(sump, pumps) if duty.overrun else None, _assumed(duty)]
    if allowed and duty.worst_starts_per_hour is not None:
        doubts.append(_too_often(sump, duty.worst_starts_per_hour, allowed, pumps))
    doubts.append(_engine_starts(duty))
    return [doubt for doubt in doubts if doubt]


def _implausible(rows: Sequence[LoadDemand], sump: Sump) -> list[Finding]:
    """Warning for each motor that cannot belong to a pump of the stated rate."""
    rate_l_s = sump.pump_rate_l_s
    if rate_l_s is None:
        return []
    odd = [d for d in rows if d.hp and not rate_is_plausible(d.hp, rate_l_s)]
    return [_odd_rate(row, row.hp or 0.0, rate_l_s) for row in odd]


def _odd_rate(row: LoadDemand, hp: float, rate_l_s: float) -> Finding:
    head_m = implied_head_m(hp, rate_l_s)
    return Finding(
        "pump_rate_doubtful",
        Severity.WARNING,
        f"loads[{row.index}]",
        f"{row.name}: {hp:g} hp at {rate_l_s:.1f} L/s would mean a head of {head_m:.1f} m.",
        "Is the pump rate right, and in the unit that was written?",
        {"hp": hp, "pump_rate_l_s": rate_l_s, "implied_head_m": head_m},
    )


def _overrun(sump: Sump, pumps: int) -> Finding:
    return Finding(
        "sump_overrun",
        Severity.NEEDS_PERSON,
        "site.sump",
        f"{pumps} pump(s) of {sump.pump_rate_l_s:.1f} L/s do not get ahead of an inflow of "
        f"{sump.inflow_l_s:.1f} L/s: the sump fills up.",
        "Is there a further pump, or is the inflow lower?",
        {"inflow_l_s": sump.inflow_l_s, "pump_rate_l_s": sump.pump_rate_l_s, "pumps": pumps},
    )


def _assumed(duty: PumpDuty) -> Finding | None:
    if not duty.assumed:
        return None
    question = "What flows into the sump, what does one pump move, and how much does it hold?"
    detail = f"{duty.assumed[0].upper()}{duty.assumed[1:]}."
    return Finding("sump_assumed", Severity.NOTE, "site.sump", detail, question)


def _too_often(sump: Sump, worst: float, allowed: StartAllowance, pumps: int) -> Finding | None:
    """Warning where the worst inflow starts a motor more often than it stands."""
    if worst <= allowed.starts_per_hour * (1 + 1e-9):
        return None
    turns = pumps if sump.alternating else 1
    volume_l = needed_volume_l(sump.pump_rate_l_s or 0.0, 3600 / allowed.starts_per_hour, turns)
    return Finding(
        "starts_per_hour",
        Severity.WARNING,
        "site.sump",
        f"At half its rate of inflow a pump starts {worst:.1f} times an hour; its motor stands "
        f"{allowed.starts_per_hour:.1f}. A sump of {volume_l:.0f} L between the levels, or pumps "
        f"that take turns, would do.",
        evidence={"starts_per_hour": worst, "allowed_per_hour": allowed.starts_per_hour},
    )


def _engine_starts(duty: PumpDuty) -> Finding | None:
    limit = float(table("duty_rules").at("value", "engine_starts_limit"))
    if duty.through or duty.starts_per_hour <= limit:
        return None
    detail = (
        f"The engine would start {duty.starts_per_hour:.1f} times an hour: let it run through and "
        f"let the float switch start the pump alone."
    )
    return Finding("engine_starts", Severity.NOTE, "site.sump", detail)


def _speed_said(requirement: Requirement, rows: Sequence[LoadDemand]) -> str:
    """What the allowance takes for a motor without a stamped speed, in words."""
    open_ = any(requirement.loads[row.index].nameplate.rpm is None for row in rows)
    return "; no speed stamped, so two poles, which start least often" if open_ else ""


def _write(
    trace: Trace, sump: Sump, duty: PumpDuty, allowed: StartAllowance | None, speed: str
) -> None:
    source = "MIL-HDBK-1005/9A, 2.5.3.6"
    if sump.inflow_l_s is not None and sump.pump_rate_l_s is not None:
        line = f"Q/D = {sump.inflow_l_s:.2f} / {sump.pump_rate_l_s:.2f} L/s: {duty.through} through"
        trace.add("duty", f"{line}, the next {100 * duty.duty:.1f} % of the time", source)
    if duty.worst_starts_per_hour is not None:
        line = f"t = 4 V/D = 4 x {duty.volume_l:.0f} L / {sump.pump_rate_l_s:.2f} L/s"
        trace.add("duty", f"{line}: {duty.worst_starts_per_hour:.1f} starts/h a motor", source)
    if allowed:
        line = (
            f"Allowed: {allowed.starts_per_hour:.2f} starts/h, rest {allowed.rest_s:.0f} s{speed}"
        )
        trace.add("duty", line, source_line(allowed.basis))
