"""Chapter 2: which one supply the whole request takes, and the ways out where not all loads fit.

Applying the wrong voltage destroys equipment, so a voltage is settled only by the customer and
plates that agree; an unsure supply always goes to a person, even where every plate points one way.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from sizing.errors import OutsideTable
from sizing.finding import Finding, Severity
from sizing.plate import LoadDemand, Nameplate
from sizing.running import load_demand
from sizing.supply_fit import (
    FINE,
    NEVER,
    OTHER_TAP,
    PLUG_KVA,
    SET_HERTZ,
    SYSTEMS,
    TRANSFORMER,
    UNKNOWN,
    Fit,
    phases_of,
    suits,
)
from sizing.tables import source_line, table
from sizing.trace import Trace

if TYPE_CHECKING:
    from sizing.requirement import Load, Requirement

__all__ = [
    "FINE", "NEVER", "OTHER_TAP", "SYSTEMS", "TRANSFORMER", "UNKNOWN", "Fit", "StepDown",
    "SupplyPlan", "likely_system", "phases_of", "settle_supply", "step_down", "suits",
]  # fmt: skip
PREFERRED = ("120/240", "480Y/277", "208Y/120", "240/120")  # where several carry equally many
OPTION_WORDS = {
    "transformer": "a transformer",
    "two_sets": "a second set",
    "receptacles": "120 V receptacles that live apart from the selector",
    "person": "a person decides",
}
NEUTRAL_VOLTS = 120.0


class StepDown(NamedTuple):
    """A transformer for the loads that the supply does not fit: size, losses and inrush."""

    kva: float
    phases: int
    primary: str
    secondary: str
    losses_kw: float
    inrush_kva: float
    load_kva: float


@dataclass(frozen=True, slots=True)
class SupplyPlan:
    """The system taken, each load's fit, and the ways out for loads that do not fit.

    ``options`` is ranked, the first the best: ``transformer``, ``two_sets``, ``receptacles``,
    ``person``; empty where every load fits. ``step_down`` is the transformer that would serve.
    """

    system: str | None
    per_load: tuple[Fit, ...]
    options: tuple[str, ...]
    findings: tuple[Finding, ...]
    step_down: StepDown | None = None


def settle_supply(requirement: Requirement, trace: Trace | None = None) -> SupplyPlan:
    """Return the system for the whole request, each load's fit, and what a person must settle.

    Parameters
    ----------
    requirement : Requirement
        A requirement; its supply may be unsure [-]
    trace : Trace, optional
        Takes a line for each load where given [-]

    Returns
    -------
    SupplyPlan
        ``system`` is the asked one, or the likely one where it is unsure, ``None`` where no plate
        gives a voltage [-]

    Raises
    ------
    TableRefused
        A table is damaged.

    Notes
    -----
    A set has one selector position at a time. Loads of another system are served by a transformer,
    by a second set, or from 120 V receptacles that live apart from the selector; a voltage close
    to the supply's but outside its band is a conflict, and no transformer settles it unasked.
    """
    loads = requirement.loads
    system = requirement.supply or likely_system(loads)
    findings = [] if requirement.supply else [_unsure(system, loads)]
    if system is None:
        return SupplyPlan(None, (), (), tuple(findings))
    fits = tuple(suits(load.nameplate, load.kind, system) for load in loads)
    _write(trace, loads, fits, system)
    for index, (load, fit) in enumerate(zip(loads, fits, strict=True)):
        findings.extend(_fit_findings(index, load, fit, system))
    others = [i for i, fit in enumerate(fits) if fit.verdict == TRANSFORMER and not fit.near_miss]
    found = step_down(loads, others, system)
    options = _options(loads, others, found, system)
    if others:
        findings.append(_two_voltages(loads, fits, others, found, options, system))
    if system == "240/120":
        findings.extend(_high_leg(loads, fits))
    return SupplyPlan(system, fits, options, tuple(findings), found)


def likely_system(loads: Sequence[Load]) -> str | None:
    """Return the system that the plates point to; ``None`` where none of them carries any load.

    Parameters
    ----------
    loads : sequence of Load
        All rows [-]

    Returns
    -------
    str or None
        One of the four systems [-]

    Raises
    ------
    KeyError
        A load's kind is not known.

    Notes
    -----
    The fewest loads that could never run on it, then the largest share of the load carried
    without a transformer, then the most rows; between equals single phase first, the high leg last.
    """
    carried = _carried(loads)
    if not any(carried.values()):
        return None
    return max(PREFERRED, key=lambda system: (*_share(loads, system), carried[system]))


def _share(loads: Sequence[Load], system: str) -> tuple[int, float]:
    """Minus the loads that could never run on a system, and the share of kVA that it carries."""
    never, carried_kva, all_kva = 0, 0.0, 0.0
    for index, load in enumerate(loads):
        fit = suits(load.nameplate, load.kind, system)
        demand, _ = load_demand(load, index, system)
        kva = _row_kva(demand) if demand is not None else 0.0
        never += fit.verdict == NEVER
        carried_kva += kva if fit.carried else 0.0
        all_kva += kva
    return -never, round(carried_kva / all_kva, 2) if all_kva else 0.0


def _carried(loads: Sequence[Load]) -> dict[str, int]:
    """How many rows each system carries without a transformer."""
    return {
        system: sum(suits(load.nameplate, load.kind, system).carried for load in loads)
        for system in PREFERRED
    }


def _write(trace: Trace | None, loads: Sequence[Load], fits: Sequence[Fit], system: str) -> None:
    if trace is not None:
        for load, fit in zip(loads, fits, strict=True):
            line = f"{load.name} on {system}: {fit.verdict}; {fit.reason}"
            trace.add("supply", line, source_line("supply_systems", system))


def _unsure(system: str | None, loads: Sequence[Load]) -> Finding:
    counts = _carried(loads)
    question = (
        f"The plates point to {system}. Which voltage is there at the connection?"
        if system
        else "Which voltage do the plates of the equipment give?"
    )
    detail = "The supply voltage is not settled; a wrong voltage destroys equipment."
    evidence = {"likely_system": system, "rows": len(loads), "rows_carried": counts}
    return Finding("supply_unsure", Severity.NEEDS_PERSON, "supply", detail, question, evidence)


def _evidence(plate: Nameplate, system: str) -> dict[str, object]:
    return {
        "stamped_volts": plate.volts, "stamped_system": plate.system,
        "stamped_phases": plate.phases, "stamped_hertz": plate.hertz, "supply": system,
    }  # fmt: skip


def _fit_findings(index: int, load: Load, fit: Fit, system: str) -> Iterator[Finding]:
    """Conflicts for a person, and notes on taps and on heat that a lower voltage costs."""
    subject = f"loads[{index}].nameplate"
    evidence = _evidence(load.nameplate, system)
    if fit.carried:
        yield from _notes(subject, load, fit, evidence)
        return
    told = _conflict(load, fit, system)
    if told is not None:
        code, question = told
        detail = f"{load.name}: {fit.reason}."
        yield Finding(code, Severity.NEEDS_PERSON, subject, detail, question, evidence)


def _conflict(load: Load, fit: Fit, system: str) -> tuple[str, str] | None:
    """Code and question of a conflict; ``None`` where another voltage is plainly meant."""
    plate, name = load.nameplate, load.name
    if fit.verdict == UNKNOWN:
        return "nameplate_incomplete", f"{name}: which voltage does the plate give?"
    if plate.hertz is not None and plate.hertz != SET_HERTZ:
        return "frequency_mismatch", f"{name}: is there a {SET_HERTZ:g} Hz machine to use instead?"
    if fit.verdict == NEVER:
        return "phase_mismatch", f"{name}: is it three-phase, and which supply is there for it?"
    if fit.near_miss:
        question = f"{name}: does the plate also allow {system}, or is the supply another one?"
        return "voltage_mismatch", question
    return None


def _notes(subject: str, load: Load, fit: Fit, evidence: dict[str, object]) -> Iterator[Finding]:
    if fit.verdict == OTHER_TAP:
        detail = f"{load.name}: {fit.reason}; check that its terminal box is connected so."
        yield Finding("other_tap", Severity.NOTE, subject, detail, "", evidence)
    share = (fit.volts / fit.rated_volts) ** 2 if fit.rated_volts else 1.0
    if load.kind == "heater" and share < 0.95:
        detail = f"{load.name}: {fit.reason}; it gives {100 * share:.0f} % of its heat."
        yield Finding("reduced_heat", Severity.NOTE, subject, detail, "", evidence)


def step_down(loads: Sequence[Load], others: Sequence[int], system: str) -> StepDown | None:
    """Return the transformer that would serve the loads that a supply does not fit.

    Parameters
    ----------
    loads : sequence of Load
        All rows [-]
    others : sequence of int
        Rows that do not fit [-]
    system : str
        The supply [-]

    Returns
    -------
    StepDown or None
        The next standard size over their running kVA; ``None`` where there are no such rows, no
        single secondary serves them all, or they are larger than the largest size [-]

    Raises
    ------
    TableRefused
        A table is damaged.

    Notes
    -----
    Inrush: crest ten times the rated crest, half of it fundamental. Conservative: all of it is
    met at full voltage.

    Source: transformer_sizes; load_kinds, transformer.
    """
    secondary = _secondary([loads[i] for i in others], system) if others else None
    if secondary is None:
        return None
    demands = [load_demand(loads[i], i, system)[0] for i in others]
    kva = sum(_row_kva(d) for d in demands if d is not None)
    phases = 1 if secondary == "120/240" else 3
    rules = table("load_kinds").row("transformer")
    try:
        size = _standard_size(kva, phases)
    except OutsideTable:
        return None
    losses_kw = rules["losses_share"] * size
    return StepDown(size, phases, system, secondary, losses_kw, rules["start_multiple"] * size, kva)


def _row_kva(demand: LoadDemand) -> float:
    return demand.quantity * demand.demand_factor * demand.running_kva


def _standard_size(kva: float, phases: int) -> float:
    """Smallest standard rating that is not under a load [kVA]."""
    sizes = [row["kva"] for row in table("transformer_sizes").rows if row["phases"] == phases]
    fitting = [size for size in sizes if size >= kva]
    if not fitting:
        raise OutsideTable("transformer_sizes", kva, sizes[0], sizes[-1], "kVA")
    return float(fitting[0])


def _secondary(loads: Sequence[Load], system: str) -> str | None:
    """The one system of lower voltage that carries all of some loads; the preferred of several.

    No load is fed by stepping up: a set at the higher voltage goes before it.
    """
    systems = table("supply_systems")
    volts = systems.at("line_line_v", system)
    for other in PREFERRED:
        lower = systems.at("line_line_v", other) < volts
        if lower and all(suits(x.nameplate, x.kind, other).carried for x in loads):
            return other
    return None


def _options(
    loads: Sequence[Load], others: Sequence[int], found: StepDown | None, system: str
) -> tuple[str, ...]:
    """Ways out, ranked: a transformer for a small share, a second set for a large one."""
    if not others:
        return ()
    if any(likely_system([loads[i]]) is None for i in others):
        return ("person",)  # no set gives what one of them needs
    plugs = ("receptacles",) if _all_on_plugs([loads[i] for i in others]) else ()
    if found is None:
        return (*plugs, "two_sets", "person")
    total = sum(
        _row_kva(demand)
        for i, load in enumerate(loads)
        if (demand := load_demand(load, i, system)[0]) is not None
    )
    rules = table("supply_rules")
    share = 100 * found.load_kva / total if total else 100.0
    small = share <= rules.at("value", "transformer_share_percent")
    if small and found.kva <= rules.at("value", "transformer_kva"):
        return ("transformer", *plugs, "two_sets", "person")
    return ("two_sets", "transformer", *plugs, "person")


def _all_on_plugs(loads: Sequence[Load]) -> bool:
    """True where every load is a 120 V one that a 20 A receptacle carries."""
    return all(_on_plug(load) for load in loads)


def _on_plug(load: Load) -> bool:
    fit = suits(load.nameplate, load.kind, "120/240")
    demand, _ = load_demand(load, 0, "120/240")
    return (
        fit.carried
        and fit.connection == "line_neutral"
        and demand is not None
        and demand.running_kva <= PLUG_KVA
    )


def _two_voltages(
    loads: Sequence[Load], fits: Sequence[Fit], others: Sequence[int],
    found: StepDown | None, options: Sequence[str], system: str,
) -> Finding:  # fmt: skip
    """One finding for all loads of another system; a person where no load fits the supply."""
    names = ", ".join(loads[i].name for i in others)
    settled = found is not None and any(fit.carried for fit in fits)
    severity = Severity.WARNING if settled else Severity.NEEDS_PERSON
    way = (
        f"a {found.kva:g} kVA transformer to {found.secondary} ({found.losses_kw:.2g} kW losses, "
        f"{found.inrush_kva:.0f} kVA inrush)"
        if found
        else "no one transformer serves them"
    )
    ranked = ", then ".join(OPTION_WORDS[option] for option in options)
    detail = f"{names}: not for {system}; {way}. Ranked: {ranked}."
    question = f"Is {system} right for the site, and what shall feed {names}?"
    evidence = {"rows": tuple(others), "options": tuple(options)}
    return Finding("two_voltages", severity, "supply", detail, question, evidence)


def _high_leg(loads: Sequence[Load], fits: Sequence[Fit]) -> Iterator[Finding]:
    """The rules of a delta with a high leg: none of the 120 V load on it, and little in all."""
    total = middle = 0.0
    for index, (load, fit) in enumerate(zip(loads, fits, strict=True)):
        demand, _ = load_demand(load, index, "240/120")
        kva = _row_kva(demand) if demand is not None else 0.0
        total += kva
        middle += kva if fit.connection == "line_neutral" or load.kind == "panel" else 0.0
    if middle == 0.0:
        return
    limit = table("supply_rules").at("value", "high_leg_share_percent")
    share = 100 * middle / total
    detail = (
        f"High-leg delta: {share:.0f} % of the load is at {NEUTRAL_VOLTS:g} V, the limit is "
        f"{limit:g} %; none of it may sit on the high leg, which has 208 V to neutral."
    )
    question = "Can the 120 V load be fed apart from the high-leg delta?" if share > limit else ""
    severity = Severity.NEEDS_PERSON if share > limit else Severity.WARNING
    evidence = {"share_percent": round(share, 1), "limit_percent": limit}
    yield Finding("high_leg", severity, "supply", detail, question, evidence)
