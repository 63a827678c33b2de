"""What a handover must know of its job: facts that are so or not, and words to fill in.

A pure function of the order's requirement, the option agreed and the set's record. Checklists,
start cards and the triage all ask the same facts, so that none asks what the order answers.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from sizing.conversions import GALLON_L, POUND_KG
from sizing.fleet import GeneratorSet
from sizing.tanks import is_bulk, needs_spill_plan
from sizing.towing import gross_mass_kg, hitch_class, needs_brakes

Document = Mapping[str, Any]
BALL_HITCH_LB = 10_000  # SAE J684, class 4: no class beyond
MANNED = ("cam_lock", "lugs")


@dataclass(frozen=True, slots=True)
class Given:
    """What the facts are read from, for one set of the order."""

    requirement: Document
    option: Document  # the part of the agreed option that this set serves
    accessories: Document  # code to quantity
    choices: Document
    set_: GeneratorSet
    position: int  # of this set's row among the option's sets
    units: int  # sets on the site, of any type
    loads: tuple[Document, ...]

    @property
    def site(self) -> Document:
        """Answers about the site."""
        found: Document = self.requirement.get("site") or {}
        return found

    @property
    def supply(self) -> str:
        """System this set is switched to."""
        own = self.option["sets"][self.position].get("supply")
        return str(own or self.option["supply"])

    @property
    def connection(self) -> str:
        """How the leads end at the set; the set's own receptacles where there are none."""
        leads = self.option.get("leads") or {}
        return str(leads.get("connection") or "receptacle")

    @property
    def gross_lb(self) -> float:
        """Mass of the towed set with a full tank [lb]."""
        return gross_mass_kg(self.set_) / POUND_KG


@dataclass(frozen=True, slots=True)
class HandoverJob:
    """Facts that hold, and the words that texts fill in."""

    facts: frozenset[str]
    words: Mapping[str, str]

    def holds(self, when: tuple[str, ...]) -> bool:
        """Whether every fact named holds; one written with ``!`` must not."""
        return all(
            (name[1:] not in self.facts) if name.startswith("!") else name in self.facts
            for name in when
        )


FACTS: dict[str, Callable[[Given], bool]] = {
    "automatic": lambda g: "remote_start_cable" in g.accessories,
    "selector": lambda g: len(g.set_.supplies) > 1,
    "three_phase": lambda g: g.supply != "120/240",
    "motors": lambda g: any(one.get("phases") == 3 and _turns(one) for one in g.loads),
    "high_leg": lambda g: g.supply == "240/120",
    "cam_lock": lambda g: g.connection == "cam_lock",
    "lugs": lambda g: g.connection == "lugs",
    "receptacles": lambda g: g.connection not in MANNED,
    "sockets_dead": lambda g: g.supply == "480Y/277" and not g.set_.live_120v_at_480,
    "distribution_box": lambda g: "distribution_box" in g.accessories,
    "transformer": lambda g: "step_down_transformer" in g.accessories,
    "load_bank": lambda g: "load_bank" in g.accessories,
    "parallel": lambda g: "paralleling_leads" in g.accessories,
    "auxiliary_tank": lambda g: "auxiliary_tank" in g.accessories,
    "cable_ramp": lambda g: "cable_ramp" in g.accessories,
    "ground_rod": lambda g: "ground_rod_kit" in g.accessories,
    "building": lambda g: g.site.get("feeds_building") is True,
    "public": lambda g: g.site.get("public_nearby") is True,
    "sound_limit": lambda g: bool(g.site.get("noise_limit")),
    "customer_tows": lambda g: bool(g.site.get("towing")) or _tows(g.choices),
    "brakes": lambda g: needs_brakes(gross_mass_kg(g.set_)),
    "beyond_ball_hitch": lambda g: g.gross_lb > BALL_HITCH_LB,
    "bulk_tank": lambda g: is_bulk(g.set_.tank_l),
    "spill_plan": lambda g: needs_spill_plan([g.set_.tank_l] * g.units),
    "owner_refuels": lambda g: g.choices.get("refuelling") == "owner",
    "owner_connects": lambda g: g.choices.get("connection") == "owner",
    "light_load": lambda g: _failed(g.option, "light_load"),
    "lead_protection": lambda g: _trip_wanted_a(g) > 0,
    "emergency": lambda g: g.requirement.get("application") == "emergency",
}  # fmt: skip


def _tows(choices: Document) -> bool:
    return choices.get("delivery") == "customer"


def _turns(load: Document) -> bool:
    return load.get("kind") in ("motor", "pump", "compressor", "hvac")


def _failed(option: Document, name: str) -> bool:
    return any(check["name"] == name and not check["passed"] for check in option["checks"])


def _trip_wanted_a(given: Given) -> float:
    """What the main breaker must be set down to so that it guards the leads [A]; 0 if it does."""
    leads = given.option.get("leads") or {}
    stands_a = float(leads.get("protection_a") or 0.0)
    main_a = float(given.set_.main_breaker_a or 0.0)
    return stands_a if 0 < stands_a < main_a else 0.0


def handover_job(
    *,
    requirement: Document,
    result: Document,
    option: Document,
    set_: GeneratorSet,
    choices: Document,
    position: int = 0,
) -> HandoverJob:
    """The facts and words of one set of an order; ``position`` is its row in the option."""
    parts = option.get("parts") or ()
    part = {**option, **parts[position]} if position < len(parts) else option
    given = Given(
        requirement=requirement,
        option=part,
        accessories={one["code"]: one["quantity"] for one in option["accessories"]},
        choices=choices,
        set_=set_,
        position=position,
        units=sum(int(one["quantity"]) for one in option["sets"]),
        loads=tuple((result.get("demand") or {}).get("loads", ())),
    )
    facts = frozenset(name for name, holds in FACTS.items() if holds(given))
    return HandoverJob(facts, _words(given))


def _words(given: Given) -> dict[str, str]:
    leads = given.option.get("leads") or {}
    order = [str(one) for one in leads.get("connection_order") or ()]
    return {
        "code": given.set_.code,
        "set": given.set_.name,
        "supply": given.supply,
        "supplies": ", ".join(given.set_.supplies),
        "gross_lb": f"{given.gross_lb:,.0f}",
        "gross_kg": f"{gross_mass_kg(given.set_):,.0f}",
        "hitch": _hitch(given),
        "tank_gal": f"{given.set_.tank_l / GALLON_L:.0f}",
        "sites_gal": f"{given.units * given.set_.tank_l / GALLON_L:,.0f}",
        "order": ", ".join(order),
        "trip_a": f"{_trip_wanted_a(given):.0f}",
        "load_percent": f"{float(given.option.get('load_percent') or 0):.0f}",
        "worst": str(_worst(given)),
        "autonomy_h": f"{float(given.option.get('autonomy_h') or 0):.0f}",
        "noise_limit": str(given.site.get("noise_limit") or ""),
        "ramps": str(given.accessories.get("cable_ramp", "")),
        "loads": ", ".join(f"{one['quantity']} x {one['name']}" for one in given.loads),
    }


def _hitch(given: Given) -> str:
    if given.gross_lb > BALL_HITCH_LB:
        return "pintle or other, rated above 10,000 lb"
    return f"class {hitch_class(gross_mass_kg(given.set_))} or more"


def _worst(given: Given) -> str:
    """The load that asks most when it starts."""
    found = max(given.loads, key=lambda one: float(one.get("start_kva") or 0), default=None)
    return str(found["name"]) if found else "the largest load"
