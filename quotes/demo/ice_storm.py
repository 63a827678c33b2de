"""The ice storm: an invented county, 23 sites, 14 sets, three re-plans, by the story's clock."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib.auth.models import User
from django.utils import timezone

from demo_fixtures import FOLDER
from quotes.demo.company import company_load
from quotes.demo.ice_storm_rows import needs_load, templates_sized, yards_load
from quotes.demo.people import people_load
from quotes.emergency.event.services import event_open, need_state_set, unit_back, unit_fail
from quotes.emergency.planning.choices import choice_make, need_clear
from quotes.emergency.planning.force import plan_put_in_force
from quotes.emergency.planning.making import plan_make
from quotes.emergency.planning.selectors import OPEN, deliveries_of, plan_in_force
from quotes.models import ChoiceKind, EmergencyEvent, EmergencyPlan, Need, NeedState

Document = dict[str, Any]
BEGINS = 18  # o'clock, the evening before
ACT_HOURS = 14  # the story is over so long after it began


class StormToldAlready(Exception):
    """The story is in this database; it is told once."""


def storm_document() -> Document:
    """The story as its file says."""
    document: Document = json.loads((FOLDER / "emergency" / "ice_storm.json").read_text("utf-8"))
    return document


@dataclass
class Told:
    """What was said, line by line, and the plans that were made."""

    lines: list[str] = field(default_factory=list)
    plans: list[EmergencyPlan] = field(default_factory=list)

    def say(self, line: str) -> None:
        self.lines.append(line)


def storm_begins(*, now: datetime, zone: str) -> datetime:
    """The last evening that leaves the whole story behind us."""
    local = now.astimezone(ZoneInfo(zone))
    evening = datetime.combine(local.date(), time(BEGINS), tzinfo=local.tzinfo)
    while evening + timedelta(hours=ACT_HOURS) > now:
        evening -= timedelta(days=1)
    return evening


def ice_storm(*, now: datetime) -> Told:
    """Load the county, then live through the night; each act ends with a plan in force."""
    document = storm_document()
    if EmergencyEvent.objects.filter(code=document["event"]["code"]).exists():
        raise StormToldAlready
    start = storm_begins(now=now, zone=document["timezone"])
    company_load(now=now)
    people_load()
    yards_load(document)
    event = event_open(
        code=document["event"]["code"],
        name=document["event"]["name"],
        jurisdiction=document["event"]["jurisdiction"],
        expected_end=start + timedelta(days=document["event"]["days"]),
        actor=User.objects.get(username="senior"),
        now=start,
    )
    sized = templates_sized(document, event, start)
    told = Told()
    with timezone.override(ZoneInfo(document["timezone"])):
        for act in document["acts"]:
            now = start + timedelta(hours=act["at_h"])
            time_passes(event, User.objects.get(username="rep"), now)
            needs_load(document, event, sized, start=start, now=now)
            _act(act, event, now, told)
    return told


def _act(act: Document, event: EmergencyEvent, now: datetime, told: Told) -> None:
    rep, senior = (User.objects.get(username=name) for name in ("rep", "senior"))
    told.say(f"\n{act['say']}")
    for step in act["do"]:
        _step(step, event, rep, now)
    plan = plan_make(event_id=event.pk, reason=act["plan"], actor=rep, now=now)
    plan_put_in_force(plan_id=plan.pk, actor=senior, now=now)
    told.plans.append(EmergencyPlan.objects.get(pk=plan.pk))
    _tell(told.plans[-1], event, told)


def time_passes(event: EmergencyEvent, actor: User, now: datetime) -> None:
    """Sets leave, arrive and run as the plan in force says."""
    for delivery in deliveries_of(plan_in_force(event)):
        for need in delivery.needs.all():
            if delivery.depart_at < now:
                _moved(need, NeedState.PROMISED, NeedState.ON_THE_WAY, actor, delivery.depart_at)
            if delivery.arrive_at < now:
                _moved(need, NeedState.ON_THE_WAY, NeedState.RUNNING, actor, delivery.arrive_at)


def _moved(need: Need, origin: str, target: str, actor: User, at: datetime) -> None:
    if Need.objects.filter(pk=need.pk, state=origin).exists():
        need_state_set(need_id=need.pk, target=target, version=None, actor=actor, now=at)


# ---- what people do ----------------------------------------------------------------------------


def _step(step: Document, event: EmergencyEvent, actor: User, now: datetime) -> None:
    """One step of an act; its first word says which."""
    name = next(iter(step))
    STEPS[name](step, event, actor, now)


def _fail(step: Document, event: EmergencyEvent, actor: User, now: datetime) -> None:
    unit_fail(number=step["fail"], reason=step["reason"], actor=actor, now=now)


def _back(step: Document, event: EmergencyEvent, actor: User, now: datetime) -> None:
    unit_back(number=step["back"], actor=actor, now=now)


def _clear(step: Document, event: EmergencyEvent, actor: User, now: datetime) -> None:
    need = _need(event, step["clear"])
    need_clear(need_id=need.pk, reason=step["reason"], actor=actor, now=now)


def _choose(step: Document, event: EmergencyEvent, actor: User, now: datetime) -> None:
    """Pin or forbid at the first of these places that still has no set under way."""
    kind = ChoiceKind.PIN if "pin" in step else ChoiceKind.FORBID
    by_key = {need.key: need for need in Need.objects.filter(event=event, state__in=OPEN)}
    need = next((by_key[key] for key in step[str(kind)] if key in by_key), None)
    if need is not None:
        choice_make(
            need_id=need.pk,
            unit=step["unit"],
            kind=kind,
            reason=step["reason"],
            actor=actor,
            now=now,
        )


def _end(step: Document, event: EmergencyEvent, actor: User, now: datetime) -> None:
    """The place needs its set no more: done where it runs, withdrawn where it has none yet."""
    need = _need(event, step["end"])
    running = need.state == NeedState.RUNNING
    target = NeedState.DONE if running else NeedState.WITHDRAWN
    need_state_set(need_id=need.pk, target=target, version=None, actor=actor, now=now)


def _need(event: EmergencyEvent, key: str) -> Need:
    return Need.objects.get(event=event, key=key)


STEPS: dict[str, Callable[[Document, EmergencyEvent, User, datetime], None]] = {
    "fail": _fail,
    "back": _back,
    "clear": _clear,
    "pin": _choose,
    "forbid": _choose,
    "end": _end,
}


# ---- telling -----------------------------------------------------------------------------------


def _tell(plan: EmergencyPlan, event: EmergencyEvent, told: Told) -> None:
    names = {str(pk): name for pk, name in event.needs.values_list("pk", "name")}
    result = plan.result
    told.say(f"Plan {plan.number}, {plan.seconds:.1f} s, {_gap(plan)}:")
    for goal in result["goals"]:
        told.say(f"  {goal['words']}")
    for one in result["deliveries"]:
        told.say(f"  {_delivery_words(one, names)}")
    for one in result["kept"]:
        told.say(f"  {' and '.join(one['units'])} stays at {_joined(one['needs'], names)}")
    for one in result["unmet"]:
        told.say(f"  without: {names[one['need']]}. {one['words']}")
    for one in result["left_out"]:
        told.say(f"  waits for a person: {names[one['key']]}. {one['why']}")
    for words in result["one_more"]:
        told.say(f"  {words}")
    _tell_changes(result["changes"], names, told)


def _tell_changes(changes: list[Document], names: dict[str, str], told: Told) -> None:
    changed = [one for one in changes if one["kind"] != "same"]
    same = len(changes) - len(changed)
    if changes:
        told.say(f"Against the plan before, {same} stay as they were, {len(changed)} change:")
    for one in changed:
        was, is_ = (_units(one[side]) for side in ("before", "after"))
        told.say(f"  {names[one['need']]}: {was} -> {is_}. {one['why']}")


def _gap(plan: EmergencyPlan) -> str:
    return "proven best" if plan.proven else f"at most {plan.gap_percent:.1f} % from the best"


def _units(given: Document | None) -> str:
    return " and ".join(given["units"]) if given else "nothing"


def _joined(keys: list[str], names: dict[str, str]) -> str:
    return " and ".join(names[key] for key in keys)


def _delivery_words(one: Document, names: dict[str, str]) -> str:
    leaves, runs = (datetime.fromisoformat(one[at]) for at in ("depart_at", "arrive_at"))
    late = f", {one['late_minutes']} min late" if one["late_minutes"] else ""
    part = f", {100 * one['share']:.0f} % of its load" if one["share"] < 1 else ""
    units = " and ".join(one["units"])
    return (
        f"{units} ({one['set_code']}) to {_joined(one['needs'], names)}: leaves "
        f"{timezone.localtime(leaves):%H:%M}, runs {timezone.localtime(runs):%H:%M}{late}{part}"
    )
