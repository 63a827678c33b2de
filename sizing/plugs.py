"""Chapter 10: the customer's plugs against the set's receptacles, and the boxes in between."""

from __future__ import annotations

import math
import re
from collections import Counter
from collections.abc import Iterable
from typing import NamedTuple

from sizing.finding import Finding, Severity
from sizing.fleet import GeneratorSet
from sizing.tables import table
from sizing.voltage_drop import is_single_phase

PLUG = re.compile(r"(?:NEMA\s*)?(L?\d{1,2}-\d{2}|TT-30|CS-?\d{4})\s*[PRC]?", re.IGNORECASE)
ALSO_FITS = {"5-15": "5-20", "6-15": "6-20"}  # a 15 A plug goes into the 20 A receptacle
SAME_PAIR = {"CS6364": "CS6365", "CS6375": "CS6365", "CS8364": "CS8365"}
BOX_FEEDS = ("CS6365", "14-50")
HIGH_VOLTAGE = "480Y/277"


class PlugPlan(NamedTuple):
    """Where each of the customer's plugs goes: into the set, into a box, or nowhere yet."""

    served: tuple[str, ...] = ()
    boxed: tuple[str, ...] = ()
    split: tuple[str, ...] = ()  # by a splitter, sharing the one receptacle of that kind
    unserved: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    boxes: int = 0
    box_feed: str = ""  # receptacle that feeds a box, or "cam_lock"


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
    phases = 1 if is_single_phase(system) else 3
    rows = (table("receptacles").row(name) for name in live_receptacles(set_, system))
    fits = [r for r in rows if r["phases"] == phases and r["amps_a"] >= design_amps]
    least = min(fits, key=lambda r: (r["amps_a"], -r["wires"]), default=None)
    return str(least["configuration"]) if least else None


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
    Where a kind is short and no box has it, a splitter shares the set's own receptacle, and its
    amperes. A box hangs on a spare 50 A, 125/250 V receptacle, else on the leads; at 480Y/277 a
    box has no supply unless the set's 120 V side lives there.

    Source: ANSI/NEMA WD 6; sizing/tables/distribution_box.csv.
    """
    read = [(text, read_plug(text)) for text in plugs]
    names = [name for _, name in read if name]
    spare = live_receptacles(set_, system)
    served = [name for name in names if _take(name, spare)]
    short = list((Counter(names) - Counter(served)).elements())
    boxed, boxes, feed = _boxes(short, set_, system, spare)
    left = list((Counter(short) - Counter(boxed)).elements())
    split = [name for name in left if name in served]
    return PlugPlan(
        tuple(served),
        tuple(boxed),
        tuple(split),
        tuple(name for name in left if name not in served),
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
        ``plug_unknown``, ``plug_shared`` and ``plug_unserved`` [-]

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
    findings += [_shared(name) for name in sorted(set(plan.split))]
    if plan.unserved:
        detail = f"At {system} nothing on the set or a box takes: {', '.join(plan.unserved)}."
        ask = "Shall an adapter, a transformer or a second set serve these plugs?"
        findings.append(Finding("plug_unserved", Severity.WARNING, "site.plugs", detail, ask))
    return findings


def _shared(name: str) -> Finding:
    amps = table("receptacles").at("amps_a", name)
    detail = f"Several {name} plugs share a receptacle by a splitter: together {amps:g} A at most."
    ask = f"Do the {name} plugs together take no more than {0.8 * amps:g} A for hours on end?"
    return Finding("plug_shared", Severity.WARNING, "site.plugs", detail, ask)
