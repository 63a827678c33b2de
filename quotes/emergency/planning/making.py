"""Making a plan: worked out outside any transaction, then stored whole in one.

``plan_ask`` hands the work to the queue ``emergency``; ``plan_make`` does it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Max

from intake.events.services import event_record
from intake.models import OutboxMessage
from intake.outbox.services import outbox_put
from quotes.emergency.allocation import Plan, Problem, more_sets, plan, unmet_sites
from quotes.emergency.allocation.explain import OneMore
from quotes.emergency.clock import event_zone
from quotes.emergency.planning.combining import combined_refresh
from quotes.emergency.planning.differences import Difference, Facts, Given, differences
from quotes.emergency.planning.errors import EventIsClosed
from quotes.emergency.planning.facts import facts_between
from quotes.emergency.planning.limits import plan_seconds
from quotes.emergency.planning.selectors import (
    Seen,
    branches_in_reach,
    key_of,
    open_needs,
    seen,
)
from quotes.emergency.planning.situation import Asked, asked
from quotes.emergency.planning.stored import (
    delivery_documents,
    moment,
    problem_document,
    steady,
)
from quotes.emergency.planning.words import Naming, goal_words, more_words, part_words, unmet_words
from quotes.emergency.ranks.following import ranks_follow
from quotes.fleet.selectors import sets_by_code
from quotes.models import (
    OPEN_NEED_STATES,
    Branch,
    Delivery,
    EmergencyEvent,
    EmergencyPlan,
    EventState,
    Need,
    SetType,
    Unit,
    UnitState,
)
from sizing.fleet import GeneratorSet

Document = dict[str, Any]
TOPIC = "quotes.emergency_plan"
QUEUE = "emergency"
MORE_SECONDS = 6.0  # for what one more set of a type would change, in all


@dataclass(frozen=True, slots=True)
class Work:
    """A plan worked out and not yet stored."""

    seen: Seen
    asked: Asked
    made: Plan
    result: Document


@transaction.atomic
def plan_ask(*, event_id: int, reason: str, actor: User, now: datetime) -> None:
    """Ask for a plan; a worker makes it."""
    event = EmergencyEvent.objects.get(pk=event_id)
    _refuse_closed(event)
    payload = {"event_id": event_id, "reason": reason, "actor_id": actor.pk}
    outbox_put(topic=TOPIC, payload=payload, queue=QUEUE, now=now)


def plan_asked(event: EmergencyEvent) -> bool:
    """Whether a plan is being made."""
    waiting = OutboxMessage.objects.filter(topic=TOPIC, done_at=None, parked_at=None)
    return waiting.filter(payload__event_id=event.pk).exists()


def plan_make(
    *, event_id: int, reason: str, actor: User | None, now: datetime, seconds: float | None = None
) -> EmergencyPlan:
    """Work a plan out and store it."""
    work = plan_work(event_id=event_id, now=now, seconds=seconds)
    return plan_store(work=work, reason=reason, actor=actor, now=now)


def plan_work(*, event_id: int, now: datetime, seconds: float | None = None) -> Work:
    """Everything that takes time, outside any transaction.

    1. Take over ranks that were changed since. 2. Size what lies so near that one set could serve
    it. 3. Read the situation, make the problem. 4. Solve it. 5. Say why a need got nothing, and
    what one more set would change.
    """
    event = EmergencyEvent.objects.get(pk=event_id)
    _refuse_closed(event)
    ranks_follow(event=event, now=now)
    needs = open_needs(event)
    combined = combined_refresh(
        event=event, needs=needs, fleet=_fleet(branches_in_reach(needs)), now=now
    )
    found = seen(event=event, combined=combined, now=now)
    wanted = asked(found.situation)
    limit = _seconds(wanted.problem) if seconds is None else seconds
    made = steady(wanted.problem, plan(wanted.problem, seconds=limit), _had(found))
    return Work(found, wanted, made, _result(found, wanted, made))


def _seconds(problem: Problem) -> float:
    """How long this problem may be searched."""
    return plan_seconds(len(problem.sites), sum(len(stock.units) for stock in problem.stocks))


def _refuse_closed(event: EmergencyEvent) -> None:
    if event.state != EventState.OPEN:
        raise EventIsClosed


def _fleet(branches: list[Branch]) -> list[GeneratorSet]:
    """The types of set that stand in these yards."""
    types = SetType.objects.filter(
        offered=True, units__branch__in=branches, units__state=UnitState.IN_SERVICE
    )
    codes = set(types.values_list("code", flat=True))
    return [one for code, one in sets_by_code().items() if code in codes]


def _had(found: Seen) -> dict[str, list[str]]:
    units: defaultdict[str, list[str]] = defaultdict(list)
    for delivery in found.before:
        for need in delivery.needs.all():
            units[key_of(need)].append(delivery.unit.number)
    return units


# ---- the answer in words -----------------------------------------------------------------------


def _result(found: Seen, wanted: Asked, made: Plan) -> Document:
    now, naming = found.situation.now, naming_of(found)
    more = _one_more(wanted.problem, made)
    deliveries = delivery_documents(made, now)
    kept = [_kept_document(one) for one in found.kept]
    return {
        "starts_at": now.isoformat(),
        "against": found.in_force.number if found.in_force else None,
        "deliveries": deliveries,
        "kept": kept,
        "unmet": [
            {
                "need": one.site,
                "reason": one.reason,
                "words": unmet_words(one, wanted.problem, made, more, naming, now),
            }
            for one in unmet_sites(wanted.problem, made)
        ],
        "partly": part_words(wanted.problem, made, naming),
        "left_out": [asdict(one) for one in wanted.left_out],
        "choices_dropped": [asdict(one) for one in wanted.choices_dropped],
        "one_more": more_words(more, naming),
        "goals": [
            {**asdict(goal), "words": goal_words(goal.name, goal.value, wanted.problem)}
            for goal in made.goals
        ],
        "changes": [
            difference_document(one) for one in changes(found, wanted.problem, deliveries, kept)
        ],
    }


def naming_of(found: Seen) -> Naming:
    """Names as staff read them; times by the clock of the event's place."""
    zone = event_zone(found.event)
    return Naming(
        needs={key_of(need): need.name for need in found.needs},
        supplies={key_of(need): str(need.requirement.get("supply", "")) for need in found.needs},
        yards={yard.code: yard.name for yard in found.situation.yards},
        set_kw={code: float(kw) for code, kw in SetType.objects.values_list("code", "prime_kw")},
        clock=lambda at: f"{at.astimezone(zone):%b %-d, %H:%M}",
    )


def _one_more(problem: Problem, made: Plan) -> list[OneMore]:
    """What one more set would change, as many types as time allows."""
    if not made.unmet or not problem.yards:
        return []
    each = min(5.0, max(0.05, made.seconds))
    types = int(MORE_SECONDS / (each * len(problem.yards)))
    return more_sets(problem, made, most=min(4, types), seconds=each) if types else []


def _kept_document(delivery: Delivery, *, every: bool = False) -> Document:
    """A delivery as a document; needs that are over are no longer part of it, unless all count."""
    needs = [n for n in delivery.needs.all() if every or n.state in OPEN_NEED_STATES]
    return {
        "needs": [key_of(need) for need in needs],
        "set_code": delivery.unit.set_type.code,
        "units": [delivery.unit.number],
        "yard": delivery.branch.code,
        "depart_at": delivery.depart_at.isoformat(),
        "arrive_at": delivery.arrive_at.isoformat(),
        "late_minutes": delivery.late_minutes,
        "distance_km": float(delivery.distance_km),
        "share": float(delivery.share),
    }


# ---- what changes ------------------------------------------------------------------------------


def changes(
    found: Seen, problem: Problem, deliveries: list[Document], kept: list[Document]
) -> tuple[Difference, ...]:
    """Need by need against the plan in force; nothing where there is none."""
    if found.in_force is None:
        return ()
    before = given_by([_kept_document(one, every=True) for one in found.before])
    after = given_by([*kept, *deliveries])
    facts: Facts = facts_between(found, problem)
    return differences(before, after, facts)


def given_by(deliveries: list[Document]) -> dict[str, Given]:
    """What each need gets, units of several deliveries together."""
    found: dict[str, Given] = {}
    for one in deliveries:
        for key in one["needs"]:
            earlier = found.get(key)
            units = (*(earlier.units if earlier else ()), *one["units"])
            arrive_at = moment(one["arrive_at"])
            if earlier:
                arrive_at = max(arrive_at, earlier.arrive_at)
            found[key] = Given(units, arrive_at, float(one["share"]))
    return found


def difference_document(one: Difference) -> Document:
    """A difference as plain values."""
    return {
        "need": one.key,
        "kind": str(one.kind),
        "before": _given_document(one.before),
        "after": _given_document(one.after),
        "why": one.why,
    }


def _given_document(given: Given | None) -> Document | None:
    if given is None:
        return None
    return {"units": list(given.units), "arrive_at": given.arrive_at.isoformat()}


# ---- storing -----------------------------------------------------------------------------------


@transaction.atomic
def plan_store(*, work: Work, reason: str, actor: User | None, now: datetime) -> EmergencyPlan:
    """Store a plan whole, with a row for each unit it sends."""
    event = EmergencyEvent.objects.select_for_update().get(pk=work.seen.event.pk)
    _refuse_closed(event)
    last = EmergencyPlan.objects.filter(event=event).aggregate(last=Max("number"))["last"] or 0
    gaps = [goal.gap_percent for goal in work.made.goals]
    stored = EmergencyPlan(
        event=event,
        number=last + 1,
        made_at=now,
        made_by=actor,
        reason=reason[:300],
        problem=problem_document(work.asked, now),
        result=work.result,
        seconds=work.made.seconds,
        proven=work.made.proven,
        gap_percent=max(gaps, default=0.0),
    )
    stored.full_clean(exclude=["event", "made_by"])
    stored.save(force_insert=True)
    _deliveries_store(stored, [*work.result["kept"], *work.result["deliveries"]])
    event_record(
        kind="emergency_planned",
        now=now,
        actor=actor or "system",
        subject=event.code,
        number=stored.number,
        served=len(given_by(work.result["deliveries"])),
        unmet=len(work.result["unmet"]),
        reason=reason or "-",
    )
    return stored


def _deliveries_store(stored: EmergencyPlan, documents: list[Document]) -> None:
    numbers = [number for one in documents for number in one["units"]]
    units: Mapping[str, Unit] = Unit.objects.select_related("branch").in_bulk(
        numbers, field_name="number"
    )
    needs = Need.objects.in_bulk([int(key) for one in documents for key in one["needs"]])
    for one in documents:
        for number in one["units"]:
            made = Delivery(
                plan=stored,
                unit=units[number],
                branch=units[number].branch,
                depart_at=moment(one["depart_at"]),
                arrive_at=moment(one["arrive_at"]),
                late_minutes=one["late_minutes"],
                distance_km=f"{one['distance_km']:.1f}",
                share=f"{one['share']:.3f}",
            )
            made.save(force_insert=True)
            made.needs.set([needs[int(key)] for key in one["needs"]])
