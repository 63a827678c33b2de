"""Chapter 10: how leads and plugs meet the set: terminals, order, colours, boxes and ramps."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from sizing.ampacity import CORD
from sizing.check import Check
from sizing.errors import OutsideTable
from sizing.finding import Finding, Severity
from sizing.fleet import GeneratorSet
from sizing.leads import Leads, connection_order
from sizing.protection import protection_needed_a
from sizing.tables import source_line, table

PLUG = re.compile(r"(?:NEMA\s*)?(L?\d{1,2}-\d{2}|TT-30|CS-?\d{4})\s*[PRC]?", re.IGNORECASE)
ALSO_FITS = {"5-15": "5-20", "6-15": "6-20"}  # a 15 A plug goes into the 20 A receptacle
SAME_PAIR = {"CS6364": "CS6365", "CS6375": "CS6365", "CS8364": "CS8365"}
BOX_FEEDS = ("CS6365", "14-50")
HIGH_VOLTAGE = "480Y/277"


@dataclass(frozen=True, slots=True)
class ConnectionStep:
    """One conductor to be mated, in its turn; ``must`` where the code sets the colour."""

    step: int
    conductor: str
    color: str
    must: bool


@dataclass(frozen=True, slots=True)
class PlugPlan:
    """Where each of the customer's plugs goes: into the set, into a box, or nowhere yet."""

    served: tuple[str, ...] = ()
    boxed: tuple[str, ...] = ()
    unserved: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    boxes: int = 0
    box_feed: str = ""  # receptacle that feeds a box, or "cam_lock"


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


def read_plug(text: str) -> str | None:
    """Configuration that a customer's words name, or ``None``.

    Parameters
    ----------
    text : str
        As written: ``NEMA L14-30P``, ``14-50``, ``CS6364`` [-]

    Returns
    -------
    str or None
        Key of the table of receptacles [-]

    Raises
    ------
    TypeError
        Not a text.

    Examples
    --------
    >>> read_plug("NEMA l14-30P"), read_plug("CS 6364"), read_plug("household plug")
    ('L14-30', 'CS6365', None)

    Source: ANSI/NEMA WD 6.
    """
    match = PLUG.fullmatch(re.sub(r"\bcs\s+", "CS", text.strip(), flags=re.IGNORECASE))
    if match is None:
        return None
    name = match[1].upper().replace("CS-", "CS")
    name = SAME_PAIR.get(name, name)
    return name if (name,) in table("receptacles").index else None


def live_receptacles(set_: GeneratorSet, system: str) -> Counter[str]:
    """Receptacles of a set that carry their voltage at a selector position.

    Parameters
    ----------
    set_ : GeneratorSet
        Its receptacles and whether those of 120 V live at 480Y/277 [-]
    system : str
        One of ``SUPPLIES`` [-]

    Returns
    -------
    Counter
        Configuration to count [-]

    Raises
    ------
    TableRefused
        The record names a configuration that the table has not.

    Source: sizing/tables/receptacles.csv.
    """
    positions = {system}
    if system == HIGH_VOLTAGE and set_.live_120v_at_480:
        positions.add("120/240")
    rows = table("receptacles")
    return Counter({
        name: count for name, count in set_.receptacles.items()
        if positions & set(rows.at("live_at", name).split())
    })  # fmt: skip


def receptacle_for(set_: GeneratorSet, system: str, design_amps: float) -> str | None:
    """Smallest live receptacle that takes a whole load by one cord, or ``None``.

    Parameters
    ----------
    set_ : GeneratorSet
        The set [-]
    system : str
        One of ``SUPPLIES`` [-]
    design_amps : float
        Current at 125 % where continuous [A]

    Returns
    -------
    str or None
        Configuration with the system's phases and enough amperes [-]

    Raises
    ------
    TableRefused
        The record names a configuration that the table has not.

    Source: sizing/tables/receptacles.csv.
    """
    phases = 1 if system == "120/240" else 3
    rows = (table("receptacles").row(name) for name in live_receptacles(set_, system))
    fits = [r for r in rows if r["phases"] == phases and r["amps_a"] >= design_amps]
    least = min(fits, key=lambda r: (r["amps_a"], -r["wires"]), default=None)
    return str(least["configuration"]) if least else None


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


def plug_plan(plugs: Iterable[str], set_: GeneratorSet, system: str) -> PlugPlan:
    """Where the customer's plugs go on this set.

    Parameters
    ----------
    plugs : iterable of str
        As written by the customer, one entry a plug [-]
    set_ : GeneratorSet
        Its receptacles [-]
    system : str
        One of ``SUPPLIES`` [-]

    Returns
    -------
    PlugPlan
        Served by the set, by boxes, by nothing, and not understood [-]

    Raises
    ------
    TableRefused
        The record names a configuration that the table has not.

    Notes
    -----
    A plug takes one receptacle of its own configuration; 15 A plugs go into 20 A receptacles too.
    A box hangs on a spare 50 A, 125/250 V receptacle, else on the leads; at 480Y/277 a box has no
    supply unless the set's 120 V side lives there.

    Source: ANSI/NEMA WD 6; sizing/tables/distribution_box.csv.
    """
    read = [(text, read_plug(text)) for text in plugs]
    names = [name for _, name in read if name]
    spare = live_receptacles(set_, system)
    served = [name for name in names if _take(name, spare)]
    short = list((Counter(names) - Counter(served)).elements())
    boxed, boxes, feed = _boxes(short, set_, system, spare)
    return PlugPlan(
        tuple(served),
        tuple(boxed),
        tuple((Counter(short) - Counter(boxed)).elements()),
        tuple(text for text, name in read if not name),
        boxes,
        feed,
    )


def _take(name: str, spare: Counter[str]) -> bool:
    """Take one receptacle that the plug fits out of the spare ones."""
    for fit in (name, ALSO_FITS.get(name, name)):
        if spare[fit] > 0:
            spare[fit] -= 1
            return True
    return False


def _boxes(
    short: Iterable[str], set_: GeneratorSet, system: str, spare: Counter[str]
) -> tuple[list[str], int, str]:
    """Plugs that boxes take, how many boxes, and what feeds them."""
    feed = next((name for name in BOX_FEEDS if spare[name] > 0), "")
    if system == HIGH_VOLTAGE and not feed:
        return [], 0, ""
    outlets = {r["configuration"]: int(r["outlets"]) for r in table("distribution_box").rows}
    wanted = Counter(ALSO_FITS.get(name, name) for name in short)
    boxed = [name for name in short if ALSO_FITS.get(name, name) in outlets]
    count = max((math.ceil(wanted[c] / n) for c, n in outlets.items()), default=0)
    return boxed, count, (feed or "cam_lock") if count else ""


def plug_findings(plan: PlugPlan, system: str) -> list[Finding]:
    """What a person should know of the plugs: not understood, or without a place.

    Parameters
    ----------
    plan : PlugPlan
        Where the plugs go [-]
    system : str
        One of ``SUPPLIES`` [-]

    Returns
    -------
    list of Finding
        ``plug_unknown`` and ``plug_unserved`` [-]

    Raises
    ------
    AttributeError
        Not a plan.

    Source: ANSI/NEMA WD 6.
    """
    findings = []
    if plan.unknown:
        detail = f"Plugs not understood: {', '.join(plan.unknown)}."
        ask = "What is moulded on the plug, such as L14-30 or 14-50?"
        findings.append(Finding("plug_unknown", Severity.NOTE, "site.plugs", detail, ask))
    if plan.unserved:
        detail = f"At {system} nothing on the set or a box takes: {', '.join(plan.unserved)}."
        ask = "Shall an adapter, a transformer or a second set serve these plugs?"
        findings.append(Finding("plug_unserved", Severity.WARNING, "site.plugs", detail, ask))
    return findings


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
    covered = chosen.connection == "receptacle" or needed_a <= chosen.protection_a
    carried = source_line("flexible_cord" if chosen.make == CORD else "portable_cable")
    return (
        Check("lead_ampacity", chosen.design_amps, chosen.ampacity_a, "A",
              chosen.ampacity_a >= chosen.design_amps, carried),
        Check("lead_drop", limit, drop, "%", drop <= limit,
              str(rule.at("source", "feeder_drop"))),
        Check("lead_protection", needed_a, chosen.protection_a, "A", covered,
              "NEC 2023, 240.4 and 445.13(A)", binding=False),
    )  # fmt: skip


def lead_findings(chosen: Leads) -> list[Finding]:
    """What a person should know of the leads: too much for what is kept, or very long.

    Parameters
    ----------
    chosen : Leads
        The leads [-]

    Returns
    -------
    list of Finding
        ``leads_outside`` for a person, ``leads_long`` as a note [-]

    Raises
    ------
    TableRefused
        The table is damaged.

    Source: TM 9-6150-228-13P for the usual longest way.
    """
    findings = []
    if not chosen.passed:
        findings.append(_outside(chosen))
    if chosen.length_m > table("lead_rules").at("value", "longest_usual"):
        detail = f"Leads of {chosen.length_m:.0f} m are longer than the usual 76 m (250 ft)."
        findings.append(Finding("leads_long", Severity.NOTE, "site.lead_length", detail))
    return findings


def _outside(chosen: Leads) -> Finding:
    detail = (
        f"{chosen.runs_per_phase} runs of {chosen.size} carry {chosen.ampacity_a:.0f} A and drop "
        f"{chosen.voltage_drop_percent:.1f} %: not enough for {chosen.design_amps:.0f} A."
    )
    ask = "Can the set stand nearer, or the load be split over several feeders?"
    return Finding("leads_outside", Severity.NEEDS_PERSON, "site.lead_length", detail, ask)
