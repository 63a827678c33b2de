"""Needs so near each other that one set could serve them: sized together, kept where one fits."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from itertools import combinations
from typing import Any

from django.conf import settings
from django.db import transaction

from quotes.emergency.fitness import fitness
from quotes.models import PARTS_FROM_UTILITY, Combined, EmergencyEvent, Need
from sizing.errors import SizingError
from sizing.fleet import GeneratorSet
from sizing.places import great_circle_km
from sizing.quantity import read_quantity

Document = dict[str, Any]
Harder = Callable[[Iterable[float]], float]
UNSURE = "unsure"
HARDER: dict[str, tuple[str, Harder]] = {
    "altitude": ("m", max),
    "ambient": ("degC", max),
    "hours_per_day": ("h", max),
    "refuel_every": ("h", max),
    "lead_length": ("m", max),
    "noise_limit": ("dBA", min),
    "noise_distance": ("m", min),
    "openings_distance": ("m", min),
}


def combined_refresh(
    *, event: EmergencyEvent, needs: Sequence[Need], fleet: Sequence[GeneratorSet], now: datetime
) -> list[Combined]:
    """The pairs of these needs that one set could serve; what no longer holds is withdrawn.

    A pair that was sized is not sized again, so a re-plan costs nothing here.
    """
    wanted = dict(_pairs(needs))
    kept: dict[frozenset[int], Combined] = {}
    for row in Combined.objects.filter(event=event, withdrawn_at=None).prefetch_related("needs"):
        pair = frozenset(need.pk for need in row.needs.all())
        if pair in wanted:
            kept[pair] = row
        else:
            Combined.objects.filter(pk=row.pk).update(withdrawn_at=now)
    for pair, (first, second, apart_m) in wanted.items():
        if pair not in kept:
            kept[pair] = _combined_make(event, (first, second), apart_m, fleet, now)
    return [row for row in kept.values() if row.options]


def _pairs(needs: Sequence[Need]) -> Iterable[tuple[frozenset[int], tuple[Need, Need, float]]]:
    open_ = [need for need in needs if _may_share(need)]
    for first, second in combinations(open_, 2):
        if first.requirement["supply"] != second.requirement["supply"]:
            continue
        apart_m = 1000 * great_circle_km(*_position(first), *_position(second))
        if apart_m <= settings.EMERGENCY_COMBINE_M:
            yield frozenset((first.pk, second.pk)), (first, second, apart_m)


def _may_share(need: Need) -> bool:
    """A set shared by two places is a compromise: never for life safety, never unclear."""
    return (
        not need.life_safety
        and not need.waits_for_person
        and need.latitude is not None
        and need.longitude is not None
        and bool(need.options)
        and need.transfer_equipment in PARTS_FROM_UTILITY
        and need.requirement.get("supply", "unsure") != "unsure"
    )


def _position(need: Need) -> tuple[float, float]:
    assert need.latitude is not None
    assert need.longitude is not None
    return float(need.latitude), float(need.longitude)


@transaction.atomic
def _combined_make(
    event: EmergencyEvent,
    needs: tuple[Need, Need],
    apart_m: float,
    fleet: Sequence[GeneratorSet],
    now: datetime,
) -> Combined:
    supply = needs[0].requirement["supply"]
    row = Combined.objects.create(
        event=event,
        options=joint_options(needs, apart_m, fleet),
        why=f"{needs[0].name} and {needs[1].name} lie {apart_m:.0f} m apart, both at {supply}.",
        made_at=now,
    )
    row.needs.set(needs)
    return row


def joint_options(
    needs: Sequence[Need], apart_m: float, fleet: Sequence[GeneratorSet]
) -> list[Document]:
    """What passes every check for all of them together; nothing where the method has a doubt."""
    document = joint_requirement([need.requirement for need in needs], apart_m)
    try:
        found = fitness(document, fleet)
    except SizingError:
        return []
    return [] if found.person else found.options


def joint_requirement(requirements: Sequence[Document], apart_m: float) -> Document:
    """Two requirements as one: all loads, the harder of each condition, leads to the farther one.

    ``apart_m`` is added to the longer lead: one of the two places is that much farther away.
    """
    first = requirements[0]
    return {
        **{name: value for name, value in first.items() if name != "loads"},
        "site": joint_site([one.get("site", {}) for one in requirements], apart_m),
        "loads": [load for n, one in enumerate(requirements, 1) for load in _loads(one, n)],
    }


def joint_site(sites: Sequence[Document], apart_m: float) -> Document:
    """The harder of each condition; what only one of them says counts for both."""
    joint = {name: value for site in reversed(sites) for name, value in site.items()}
    for name, (unit, harder) in HARDER.items():
        said = [site[name] for site in sites if site.get(name) not in (None, UNSURE)]
        if said:
            joint[name] = f"{harder(_figure(one, unit) for one in said):.4g} {unit}"
    for name in ("public_nearby", "crossing"):
        if any(site.get(name) is True for site in sites):
            joint[name] = True
    if any(site.get("redundancy") == "n+1" for site in sites):
        joint["redundancy"] = "n+1"
    if joint.get("lead_length") not in (None, UNSURE):
        joint["lead_length"] = f"{_figure(joint['lead_length'], 'm') + apart_m:.0f} m"
    return joint


def _figure(value: Any, unit: str) -> float:
    return read_quantity(value, unit, default_unit=unit)


def _loads(requirement: Document, number: int) -> list[Document]:
    """Loads with names of their own, so that what waits for what stays within one place."""
    named = []
    for load in requirement["loads"]:
        plain = {name: value for name, value in load.items() if name != "priority"}
        for link in ("name", "starts_after", "never_with"):
            if plain.get(link):
                plain[link] = f"{plain[link]} ({number})"
        named.append(plain)
    return named
