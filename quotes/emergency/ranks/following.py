"""A rank that the owner or a jurisdiction changed, carried to the needs no set has reached yet."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import F

from intake.desk.promise import promised_at
from intake.events.services import event_record
from quotes.emergency.clock import need_zone
from quotes.emergency.express.asked import is_life_safety
from quotes.emergency.needs import LIFE_SAFETY
from quotes.emergency.paging.calls import by_branch
from quotes.emergency.paging.services import need_page
from quotes.emergency.ranks.selectors import Ranked, kinds_in, rank_among, ranked_by_table
from quotes.models import CallEscalation, EmergencyEvent, FacilityKind, Need, NeedState

NOT_SERVED = (NeedState.NEEDED, NeedState.PROMISED, NeedState.ON_THE_WAY)


@transaction.atomic
def ranks_follow(
    *, now: datetime, event: EmergencyEvent | None = None, actor: User | str = "system"
) -> int:
    """Give each open need the rank its kind has now in its place; returns how many changed.

    1. Needs that no set has reached, of one event or of all; a rank that a person gave stands.
    2. Each that differs gets its rank, the reason with the hour, and a row in the record.
    3. One that becomes life safety by it is called out, so that a person hears of it.
    """
    found = Need.objects.filter(state__in=NOT_SERVED).select_related("event", "request", "site")
    if event is not None:
        found = found.filter(event=event)
    kinds: dict[str, list[FacilityKind]] = {}
    urgent: list[Need] = []
    changed = 0
    for need in found.select_for_update(of=("self",)).order_by("pk"):
        if need.jurisdiction not in kinds:
            state, _dash, county = need.jurisdiction.partition("-")
            kinds[need.jurisdiction] = kinds_in(state, county)
        ranked = rank_among(need.facility_kind, kinds[need.jurisdiction])
        if ranked.rank != need.rank and ranked_by_table(need.rank_reason):
            changed += 1
            urgent += [need] if _rank_given(need, ranked, actor, now) else []
    for group in by_branch(sorted(urgent, key=lambda one: (one.need_by, one.pk))):
        need_page(need=group[0], also=tuple(one.pk for one in group[1:]), now=now)
    return changed


def _rank_given(need: Need, ranked: Ranked, actor: User | str, now: datetime) -> bool:
    """Write the new rank; says whether the need becomes life safety by it.

    What counted as life safety goes on doing so, whatever the rank: that is for a person to end.
    """
    before, moment = need.rank, f"{now.astimezone(need_zone(need)):%b %-d, %H:%M}"
    becomes = not need.life_safety and is_life_safety(ranked.rank, need.facility_kind)
    values = {"rank": ranked.rank, "rank_reason": ranked.reason_since(moment, before)}
    values |= _person_wanted(need, now) if becomes else {}
    Need.objects.filter(pk=need.pk).update(**values, version=F("version") + 1)
    for name, value in values.items():
        setattr(need, name, value)
    event_record(
        kind="need_ranked",
        now=now,
        actor=actor,
        request=need.request,
        subject=need.name[:120],
        before=before,
        reason=need.rank_reason,
    )
    return becomes


def _person_wanted(need: Need, now: datetime) -> dict[str, Any]:
    """What makes a person decide and call back.

    A need that was cleared stays so, and one that a set is promised to keeps it while it is called:
    to wait now would take the power from whom it is meant for.
    """
    values: dict[str, Any] = {"life_safety": True}
    if need.state == NeedState.NEEDED and need.person_cleared_at is None:
        reasons = need.person_reason.splitlines() if need.needs_person else []
        values["needs_person"] = True
        values["person_reason"] = "\n".join(dict.fromkeys([LIFE_SAFETY, *reasons]))
    if not need.owes_call:
        CallEscalation.objects.filter(need=need).delete()  # they were of the promise before
        values |= {
            "call_back_by": promised_at(now=now, urgent=True),
            "called_back_at": None,
            "called_back_by": None,
            "call_note": "",
        }
    return values
