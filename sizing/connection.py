"""Chapter 10: how leads meet the set: terminals, order of connection, colours, ramps, checks."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass, replace

from sizing.ampacity import CORD, SINGLE
from sizing.check import Check
from sizing.errors import OutsideTable
from sizing.finding import Finding, Severity
from sizing.fleet import GeneratorSet
from sizing.leads import Leads, connection_order, leads
from sizing.plugs import receptacle_for
from sizing.protection import protection_needed_a
from sizing.tables import source_line, table
from sizing.trace import Trace


@dataclass(frozen=True, slots=True)
class ConnectionStep:
    """One conductor to be mated, in its turn; ``must`` where the code sets the colour."""

    step: int
    conductor: str
    color: str
    must: bool


def connection_steps(system: str) -> tuple[ConnectionStep, ...]:
    """Single-pole connectors in the order of mating, with their colours.

    Parameters
    ----------
    system : str
        One of ``SUPPLIES`` [-]

    Returns
    -------
    tuple of ConnectionStep
        Ground first, then neutral, then phases; reverse to disconnect [-]

    Raises
    ------
    KeyError
        Not one of the systems.

    Examples
    --------
    >>> [s.color for s in connection_steps("240/120")][-2:]
    ['orange', 'blue']

    Source: NEC 2023, 406.13, 250.119, 200.6, 110.15; phase colours by custom.
    """
    colors, steps = table("conductor_colors"), enumerate(connection_order(system), start=1)
    rows = ((step, colors.row(system, conductor)) for step, conductor in steps)
    return tuple(ConnectionStep(n, r["conductor"], r["color"], r["must"] == "yes") for n, r in rows)


def cam_series(amps: float) -> str:
    """Series of single-pole connectors that carries a run's current.

    Parameters
    ----------
    amps : float
        Current of one run [A], up to 760

    Returns
    -------
    str
        ``15``, ``16`` or ``17`` [-]

    Raises
    ------
    OutsideTable
        Above the largest series.

    Notes
    -----
    Pages disagree on series 15; the lower figure counts. Cable and lugs limit before the connector.

    Examples
    --------
    >>> cam_series(90), cam_series(260), cam_series(500)
    ('15', '16', '17')

    Source: sizing/tables/single_pole_connectors.csv.
    """
    rows = table("single_pole_connectors").rows
    fits = [row for row in rows if amps <= row["amps_a"]]
    if not fits:
        raise OutsideTable("single_pole_connectors", amps, 0.0, rows[-1]["amps_a"], "A")
    return str(fits[0]["series"])


def lead_sections(length_m: float) -> int:
    """Lengths of 50 ft that one conductor is joined from.

    Parameters
    ----------
    length_m : float
        One way, 0 or more [m]

    Returns
    -------
    int
        Lengths, 1 or more [-]

    Raises
    ------
    TableRefused
        The table is damaged.

    Examples
    --------
    >>> lead_sections(23), lead_sections(0)
    (2, 1)

    Source: common practice, no source.
    """
    section_m = float(table("lead_rules").at("value", "section_length"))
    return max(1, math.ceil(length_m / section_m - 1e-9))


def ramp_count(chosen: Leads) -> int:
    """Cable ramps for one crossing: one row of ramps a run.

    n = runs x ceil(12 ft/3 ft).

    Parameters
    ----------
    chosen : Leads
        Leads that people or vehicles cross [-]

    Returns
    -------
    int
        Ramps [-]

    Raises
    ------
    TableRefused
        The table is damaged.

    Source: common practice, no source (sizing/tables/lead_rules.csv).
    """
    rule = table("lead_rules")
    row = rule.at("value", "crossing_width") / rule.at("value", "ramp_length")
    return chosen.runs_per_phase * math.ceil(float(row) - 0.01)


def terminals_of(set_: GeneratorSet, system: str, chosen: Leads) -> str | None:
    """Terminals of this set on which the chosen leads can end, or ``None``.

    Parameters
    ----------
    set_ : GeneratorSet
        Receptacles, cam connectors and lugs it has [-]
    system : str
        One of ``SUPPLIES`` [-]
    chosen : Leads
        Leads with the terminals usual for their current [-]

    Returns
    -------
    str or None
        ``receptacle``, ``cam_lock`` or ``lugs`` [-]

    Raises
    ------
    TableRefused
        The record names a configuration that the table has not.

    Source: common practice, no source.
    """
    if chosen.connection == "receptacle" and receptacle_for(set_, system, chosen.design_amps):
        return "receptacle"
    if chosen.connection != "lugs" and set_.cam_sets >= chosen.runs_per_phase:
        return "cam_lock"
    return "lugs" if set_.lugs else None


def fitted_leads(
    chosen: Leads, set_: GeneratorSet, system: str, trace: Trace | None = None
) -> Leads:
    """Leads as they end on this set: a cord becomes single conductors where no receptacle takes it.

    Parameters
    ----------
    chosen : Leads
        Leads with the terminals usual for their current [-]
    set_ : GeneratorSet
        Receptacles, cam connectors and lugs it has [-]
    system : str
        One of ``SUPPLIES`` [-]
    trace : Trace or None
        Takes the lines where other leads are chosen [-]

    Returns
    -------
    Leads
        The same leads, or others for the terminals that the set has [-]

    Raises
    ------
    TableRefused
        The record names a configuration that the table has not.

    Notes
    -----
    Where the set has no terminals at all the leads stay as they are; the check of the connection
    refuses that set.

    Source: common practice, no source.
    """
    terminals = terminals_of(set_, system, chosen) or chosen.connection
    if terminals == chosen.connection or chosen.basis is None:
        return chosen
    if trace:
        line = f"{set_.code} has no {chosen.connection} for these leads: {terminals}"
        trace.add("leads", line, "the set's record")
    basis = asdict(replace(chosen.basis, cords=False))
    single = chosen if chosen.make == SINGLE else leads(**basis, trace=trace)
    order = connection_order(system) if terminals == "cam_lock" else ()
    return replace(single, connection=terminals, connection_order=order)


def lead_checks(chosen: Leads, set_: GeneratorSet, system: str) -> tuple[Check, ...]:
    """Checks of the leads on one set: ampacity, drop, protection.

    Parameters
    ----------
    chosen : Leads
        The leads [-]
    set_ : GeneratorSet
        The set [-]
    system : str
        One of ``SUPPLIES`` [-]

    Returns
    -------
    tuple of Check
        Ampacity [A], drop [%], and what protects the leads [A]; the last warns only, since a
        breaker may be set down or fitted at the leads [-]

    Raises
    ------
    ValueError
        The system is no such notation.

    Source: NEC 2023, 215.2(A), 240.4, 445.13(A).
    """
    rule, drop = table("lead_rules"), chosen.voltage_drop_percent
    limit = float(rule.at("value", "feeder_drop"))
    needed_a = protection_needed_a(set_, system)
    by_receptacle = terminals_of(set_, system, chosen) == "receptacle"
    covered = by_receptacle or needed_a <= chosen.protection_a
    carried = source_line("flexible_cord" if chosen.make == CORD else "portable_cable")
    return (
        Check("lead_ampacity", chosen.design_amps, chosen.ampacity_a, "A",
              chosen.ampacity_a >= chosen.design_amps, carried),
        Check("lead_drop", limit, drop, "%", drop <= limit,
              str(rule.at("source", "feeder_drop"))),
        Check("lead_protection", needed_a, chosen.protection_a, "A", covered,
              "NEC 2023, 240.4 and 445.13(A)", binding=False),
    )  # fmt: skip


def lead_findings(
    chosen: Leads, set_: GeneratorSet | None = None, system: str = ""
) -> list[Finding]:
    """What a person should know of the leads: too much for what is kept, long, or unprotected.

    Parameters
    ----------
    chosen : Leads
        The leads, fitted to the set where one is given [-]
    set_ : GeneratorSet or None
        The set whose breaker protects them, ``None`` where none is chosen yet [-]
    system : str
        One of ``SUPPLIES``, with a set [-]

    Returns
    -------
    list of Finding
        ``leads_outside`` for a person, ``lead_protection`` as a warning, ``leads_long`` as a
        note [-]

    Raises
    ------
    TableRefused
        The table is damaged.

    Source: NEC 2023, 240.4; TM 9-6150-228-13P for the usual longest way.
    """
    findings = [] if chosen.passed else [_outside(chosen)]
    if chosen.length_m > table("lead_rules").at("value", "longest_usual"):
        detail = f"Leads of {chosen.length_m:.0f} m are longer than the usual 76 m (250 ft)."
        findings.append(Finding("leads_long", Severity.NOTE, "site.lead_length", detail))
    if set_ and not lead_checks(chosen, set_, system)[2].passed:
        findings.append(_unprotected(chosen, set_, system))
    return findings


def _unprotected(chosen: Leads, set_: GeneratorSet, system: str) -> Finding:
    needed_a = protection_needed_a(set_, system)
    before = "main breaker" if set_.main_breaker_a else "output without a main breaker"
    detail = (
        f"The {before} of {set_.code} lets {needed_a:.0f} A through, the leads stand a breaker of "
        f"{chosen.protection_a:.0f} A: a qualified person sets the trip down to that, or a fused "
        f"box goes right at the set, or larger leads go."
    )
    evidence = {"needed_a": needed_a, "leads_stand_a": chosen.protection_a}
    ask = "Can the breaker's trip be set down, or is there a fused box at the set?"
    return Finding(
        "lead_protection", Severity.WARNING, "recommendation.leads", detail, ask, evidence
    )


def _outside(chosen: Leads) -> Finding:
    detail = (
        f"{chosen.runs_per_phase} runs of {chosen.size} carry {chosen.ampacity_a:.0f} A and drop "
        f"{chosen.voltage_drop_percent:.1f} %: not enough for {chosen.design_amps:.0f} A."
    )
    ask = "Can the set stand nearer, or the load be split over several feeders?"
    return Finding("leads_outside", Severity.NEEDS_PERSON, "site.lead_length", detail, ask)
