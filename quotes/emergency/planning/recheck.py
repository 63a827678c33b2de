"""Whether what a plan gives still passes every check, against the fleet as it is now."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from quotes.emergency.fitness import fitness
from quotes.emergency.planning.combining import joint_options
from quotes.fleet.selectors import sets_by_code
from quotes.models import Delivery, Need, SetType
from sizing.errors import SizingError
from sizing.fleet import GeneratorSet
from sizing.places import great_circle_km

Document = dict[str, Any]
SHARE_EQUAL = 0.005


@dataclass(frozen=True, slots=True)
class Checked:
    """What was checked, and which versions of needs and sets it holds for."""

    problems: tuple[str, ...]
    needs: dict[int, int] = field(default_factory=dict)
    records: dict[str, Document] = field(default_factory=dict)

    def outdated(self) -> list[str]:
        """What changed between the check and now: asked again under the lock."""
        needs = Need.objects.in_bulk(list(self.needs))
        records = dict(SetType.objects.filter(code__in=self.records).values_list("code", "record"))
        return [
            *(
                f"{needs[pk].name} was changed a moment ago."
                for pk, version in self.needs.items()
                if needs[pk].version != version
            ),
            *(
                f"The record of {code} was changed a moment ago."
                for code, record in self.records.items()
                if records.get(code) != record
            ),
        ]


def checked(deliveries: Iterable[Delivery]) -> Checked:
    """Size every delivery again with its own type of set; takes seconds, so outside the lock."""
    groups = by_needs(deliveries)
    needs = {need.pk: need.version for group in groups for need in group}
    codes = {unit for rows in groups.values() for unit in (d.unit.set_type.code for d in rows)}
    records = dict(SetType.objects.filter(code__in=codes).values_list("code", "record"))
    fleet = sets_by_code()
    problems = [
        problem
        for group, rows in groups.items()
        if (problem := _problem(group, rows, fleet[rows[0].unit.set_type.code]))
    ]
    return Checked(tuple(problems), needs, records)


def by_needs(deliveries: Iterable[Delivery]) -> dict[tuple[Need, ...], list[Delivery]]:
    """Deliveries that serve the same needs, together."""
    found: defaultdict[tuple[Need, ...], list[Delivery]] = defaultdict(list)
    for delivery in deliveries:
        found[tuple(delivery.needs.all())].append(delivery)
    return dict(found)


def _problem(needs: Sequence[Need], rows: Sequence[Delivery], one: GeneratorSet) -> str:
    """Why these units must not go there; empty where every check passes."""
    if len({row.unit.set_type.code for row in rows}) > 1:
        return f"{needs[0].name}: sets of two types cannot share a load."
    available = replace(one, quantity=max(2, len(rows)))
    try:
        options = options_now(needs, available)
    except SizingError as error:
        return f"{needs[0].name}: it cannot be sized any more ({error})."
    if any(_is(option, rows) for option in options):
        return ""
    count = f"{len(rows)} x " if len(rows) > 1 else ""
    return f"{needs[0].name}: {count}{one.code} does not pass every check there any more."


def options_now(needs: Sequence[Need], one: GeneratorSet) -> list[Document]:
    """What passes with one type of set as its record is now."""
    if len(needs) > 1:
        return joint_options(needs, _apart_m(needs), [one])
    document, priorities = split_requirement(needs[0])
    wanted = any(option.get("share", 1) < 1 for option in needs[0].options)
    found = fitness(document, [one], priorities=priorities, partial=wanted and bool(priorities))
    return found.options


def split_requirement(need: Need) -> tuple[Document, list[int]]:
    """A need's requirement as the method reads it, and the priorities of its loads."""
    loads = need.requirement.get("loads", [])
    priorities = [load["priority"] for load in loads if "priority" in load]
    if not priorities and need.site is not None and len(need.site.loads) == len(loads):
        priorities = [int(load.get("priority", 1)) for load in need.site.loads]
    plain = [{k: v for k, v in load.items() if k != "priority"} for load in loads]
    whole = len(priorities) == len(loads)
    return {**need.requirement, "loads": plain}, priorities if whole else []


def _apart_m(needs: Sequence[Need]) -> float:
    first, second = ((float(n.latitude or 0), float(n.longitude or 0)) for n in needs[:2])
    return 1000 * great_circle_km(*first, *second)


def _is(option: Document, rows: Sequence[Delivery]) -> bool:
    share: float = option["share"]
    same = (option["set_code"], option["count"]) == (rows[0].unit.set_type.code, len(rows))
    return same and share >= float(rows[0].share) - SHARE_EQUAL
