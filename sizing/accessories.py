"""Chapters 7, 9 and 10: what must go along with a set, each piece with its reason."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from sizing.connection import ramp_count, terminals_of
from sizing.evaluation import Evaluation
from sizing.limits import limit
from sizing.plugs import PlugPlan, plug_plan
from sizing.requirement import Requirement

LEAD_ARTICLES = {
    "receptacle": ("cord", "one cord from a receptacle of the set"),
    "cam_lock": ("cam_lock_lead_set", "single leads on single-pole connectors"),
    "lugs": ("lug_connection", "single leads that a qualified person lands on the lugs"),
}
SPILL_KIT_FROM_L = 208.0  # 55 US gal: containment is asked for above it


@dataclass(frozen=True, slots=True)
class Accessory:
    """One article that goes along. ``rating`` says its size where it has one, with the unit."""

    code: str
    quantity: int
    why: str
    length_m: float | None = None
    rating: str = ""


Rule = Callable[[Evaluation, Requirement], Accessory | None]


def accessories(evaluation: Evaluation, requirement: Requirement) -> tuple[Accessory, ...]:
    """Return what must go along with a set on this job.

    Parameters
    ----------
    evaluation : Evaluation
        The chosen set with its fuel plan and leads [-]
    requirement : Requirement
        A resolved requirement [-]

    Returns
    -------
    tuple of Accessory
        In the order of the rules, each with its reason [-]

    Raises
    ------
    TableRefused
        The table of limits is damaged.
    """
    found = (rule(evaluation, requirement) for rule in RULES)
    return tuple(accessory for accessory in found if accessory is not None)


def load_bank(evaluation: Evaluation) -> Accessory | None:
    """Return the load bank that lifts the mean load to the light-load limit, where it is short.

    Equation: P = limit x site rating - mean load.

    Parameters
    ----------
    evaluation : Evaluation
        A set with its demand [-]

    Returns
    -------
    Accessory or None
        ``None`` where the load, or the set's own bank, is enough [-]

    Raises
    ------
    TableRefused
        The table of limits is damaged.

    Examples
    --------
    A 100 kW set that carries 22 kW is 8 kW short of 30 %.
    """
    floor = limit("light_load").value / 100 * evaluation.rating.site_kw
    short_kw = floor - evaluation.demand.profile.mean_kw
    if short_kw <= evaluation.set_.load_bank_kw:
        return None
    why = (
        f"The mean load of {evaluation.demand.profile.mean_kw:.1f} kW is under 30 % of "
        f"{evaluation.rating.site_kw:.1f} kW: {short_kw:.1f} kW are missing."
    )
    return Accessory("load_bank", 1, why, rating=f"{math.ceil(short_kw)} kW")


def _remote_start_cable(evaluation: Evaluation, requirement: Requirement) -> Accessory | None:
    pumps = [load.name for load in evaluation.demand.loads if load.float_switch]
    length_m = requirement.site.lead_length_m.likely
    if pumps:
        why = f"A float switch calls {pumps[0]}: the set must start and stop by its signal."
    elif requirement.site.feeds_building and requirement.site.transfer_equipment:
        why = "The transfer equipment calls the set when the utility fails."
    else:
        return None
    return Accessory("remote_start_cable", 1, why, length_m)


def _lead_set(evaluation: Evaluation, requirement: Requirement) -> Accessory | None:
    """Leads by the terminals on which they end: a cord, single-pole connectors, or lugs."""
    lead = evaluation.leads
    if lead is None:
        return None
    terminals = terminals_of(evaluation.set_, evaluation.supply, lead) or lead.connection
    code, how = LEAD_ARTICLES[terminals]
    why = f"{lead.design_amps:.0f} A over {lead.length_m:.0f} m: {how}."
    return Accessory(code, lead.runs_per_phase, why, lead.length_m, lead.size)


def _auxiliary_tank(evaluation: Evaluation, requirement: Requirement) -> Accessory | None:
    fuel = evaluation.fuel
    if fuel is None or not fuel.needs_auxiliary_tank:
        return None
    why = (
        f"The base tank lasts {fuel.autonomy_h:.1f} h, refuelling is every "
        f"{fuel.refuel_every_h:.0f} h."
    )
    return Accessory("auxiliary_tank", evaluation.count, why, rating=f"{fuel.extra_tank_l:.0f} L")


def _step_down_transformer(evaluation: Evaluation, requirement: Requirement) -> Accessory | None:
    step_down = evaluation.demand.step_down
    if step_down is None:
        return None
    fed = [load.name for load in evaluation.demand.loads if load.via == "transformer"]
    why = f"{', '.join(fed)}: {step_down.primary} becomes {step_down.secondary}."
    return Accessory("step_down_transformer", 1, why, rating=f"{step_down.kva:g} kVA")


def _cable_ramp(evaluation: Evaluation, requirement: Requirement) -> Accessory | None:
    site, lead = requirement.site, evaluation.leads
    crossed = site.crossing or (site.crossing is None and bool(site.public_nearby))
    if lead is None or not crossed:
        return None
    return Accessory("cable_ramp", ramp_count(lead), "People or vehicles cross the leads.")


def _distribution_box(evaluation: Evaluation, requirement: Requirement) -> Accessory | None:
    plan = _plugs(evaluation, requirement)
    if not plan.boxes:
        return None
    why = f"The set's own receptacles are short of: {', '.join(plan.boxed)}."
    return Accessory("distribution_box", plan.boxes, why, rating=f"fed from {plan.box_feed}")


def _splitter(evaluation: Evaluation, requirement: Requirement) -> Accessory | None:
    plan = _plugs(evaluation, requirement)
    if not plan.split:
        return None
    why = f"Plugs that share a receptacle of the set: {', '.join(plan.split)}."
    return Accessory("splitter", len(plan.split), why)


def _plugs(evaluation: Evaluation, requirement: Requirement) -> PlugPlan:
    return plug_plan(requirement.site.plugs, evaluation.set_, evaluation.supply)


def _ground_rod_kit(evaluation: Evaluation, requirement: Requirement) -> Accessory | None:
    lead = evaluation.leads
    hard_wired = lead is not None and lead.connection != "receptacle"
    if not (hard_wired or requirement.site.feeds_building):
        return None
    why = (
        "The set feeds more than cord-and-plug equipment through its own receptacles: "
        "the exemption of NEC 250.34 ends, a grounding electrode may be asked for."
    )
    return Accessory("ground_rod_kit", evaluation.count, why)


def _spill_kit(evaluation: Evaluation, requirement: Requirement) -> Accessory | None:
    if evaluation.set_.tank_l <= SPILL_KIT_FROM_L:
        return None
    why = f"The tank holds {evaluation.set_.tank_l:.0f} L, more than 208 L (55 US gal)."
    return Accessory("spill_kit", 1, why)


RULES: tuple[Rule, ...] = (
    _remote_start_cable,
    _lead_set,
    _distribution_box,
    _splitter,
    _auxiliary_tank,
    _step_down_transformer,
    _cable_ramp,
    _ground_rod_kit,
    _spill_kit,
)
