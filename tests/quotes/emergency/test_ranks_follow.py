"""A rank that is changed in the table reaches the needs that no set has reached yet."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from intake.events.kinds import sentence
from intake.models import Event, OutboxMessage
from quotes.demo.people import people_load
from quotes.emergency.fitness import Fitness
from quotes.emergency.needs import LIFE_SAFETY
from quotes.emergency.paging.calls import call_back_record, calls_escalate
from quotes.emergency.paging.letters import page_letter
from quotes.emergency.paging.services import MAIL_TOPIC
from quotes.emergency.planning.errors import PlanOvertaken
from quotes.emergency.planning.force import plan_put_in_force
from quotes.emergency.planning.making import plan_make
from quotes.emergency.ranks.following import ranks_follow
from quotes.emergency.ranks.selectors import rank_in, ranked_by_table
from quotes.emergency.sizing_needs import fitness_keep
from quotes.management.commands.audit import breaches
from quotes.models import (
    Branch,
    EmergencyEvent,
    EmergencyPlan,
    FacilityKind,
    Need,
    NeedState,
    Page,
)
from tests.quotes.cast import NOW
from tests.quotes.emergency import storm

pytestmark = pytest.mark.django_db
LATER = NOW + timedelta(hours=3, minutes=10)  # NOW is 11:00 in New York
COUNTY = {
    "code": "shelter",
    "jurisdiction": "NY-Saint Lawrence",
    "name": "Shelter",
    "name_es": "Refugio",
    "why": "Full at night.",
    "source": "County plan, part 4",
}


@pytest.fixture
def yard(company: None) -> Branch:
    people_load()
    return storm.yard()


@pytest.fixture
def event(yard: Branch) -> EmergencyEvent:
    return storm.event()


@pytest.fixture
def manager(yard: Branch, client: Client) -> Iterator[Client]:
    with time_machine.travel(LATER, tick=False):
        client.force_login(User.objects.get(username="manager"))
        yield client


def hall(event: EmergencyEvent, key: str = "hall", **more: Any) -> Need:
    """A shelter with the rank that the table gives it."""
    ranked = rank_in(more.get("facility_kind", "shelter"))
    return storm.need(
        event, key, rank=ranked.rank,
        **{"facility_kind": "shelter", "rank_reason": ranked.reason,
           "jurisdiction": "NY-Saint Lawrence", **more},
    )  # fmt: skip


def table_says(rank: int, code: str = "shelter") -> None:
    FacilityKind.objects.filter(code=code, jurisdiction="").update(rank=rank)


def planned(event: EmergencyEvent, now: Any = LATER) -> EmergencyPlan:
    return plan_make(event_id=event.pk, reason="", actor=None, now=now, seconds=2)


def again(need: Need) -> Need:
    return Need.objects.get(pk=need.pk)


# ---- each way of change ------------------------------------------------------------------------


def by_form(client: Client) -> None:
    kind = FacilityKind.objects.get(code="shelter", jurisdiction="")
    form = {name: getattr(kind, name) for name in COUNTY} | {"rank": "2"}
    address = reverse("admin:quotes_facilitykind_change", args=[kind.pk])
    assert client.post(address, form).status_code == 302


def by_county_row(client: Client) -> None:
    address = reverse("admin:quotes_facilitykind_add")
    assert client.post(address, {**COUNTY, "rank": "2"}).status_code == 302


def by_state_row(client: Client) -> None:
    address = reverse("admin:quotes_facilitykind_add")
    assert client.post(address, {**COUNTY, "jurisdiction": "NY", "rank": "2"}).status_code == 302


WAYS: list[tuple[Callable[[Client], None], str]] = [
    (by_form, "the owner's table"),
    (by_county_row, "the ranks of NY-Saint Lawrence"),
    (by_state_row, "the ranks of NY"),
]


@pytest.mark.parametrize(("way", "whose"), WAYS, ids=[way.__name__ for way, _ in WAYS])
def test_a_change_reaches_open_needs_at_once_with_its_reason(
    event: EmergencyEvent, manager: Client, way: Callable[[Client], None], whose: str
) -> None:
    need = hall(event)
    way(manager)
    now = again(need)
    said = f"Rank 2 since May 10, 14:10: {whose} changed, it was rank 3. Life-sustaining"
    assert (now.rank, now.version) == (2, need.version + 1)
    assert now.rank_reason.startswith(said)
    told = Event.objects.get(kind="need_ranked")
    assert (told.actor_label, told.subject) == ("Morgan Demo", "Hall")
    assert sentence(told).startswith(f"Hall had rank 3. {said}")


@pytest.mark.parametrize("selected", [False, True])
def test_a_row_taken_away_gives_back_the_rank_of_the_next_wider_place(
    event: EmergencyEvent, manager: Client, selected: bool
) -> None:
    row = FacilityKind.objects.create(**COUNTY, rank=2)
    ranked = rank_in("shelter", state="NY", county="Saint Lawrence")
    need = storm.need(
        event, "hall", facility_kind="shelter", rank=ranked.rank, rank_reason=ranked.reason,
        jurisdiction="NY-Saint Lawrence",
    )  # fmt: skip
    if selected:
        said: dict[str, Any] = {"action": "delete_selected", "_selected_action": [row.pk]}
        manager.post(reverse("admin:quotes_facilitykind_changelist"), {**said, "post": "yes"})
    else:
        address = reverse("admin:quotes_facilitykind_delete", args=[row.pk])
        manager.post(address, {"post": "yes"})
    assert not FacilityKind.objects.filter(pk=row.pk).exists()
    assert (again(need).rank, Event.objects.filter(kind="need_ranked").count()) == (3, 1)
    assert Event.objects.get(kind="owner_record_changed").data["changes"] == "deleted"


def test_a_change_by_any_other_way_counts_from_the_next_plan_of_its_event(
    event: EmergencyEvent, yard: Branch
) -> None:
    storm.unit("S-1", yard)
    need, other = hall(event), hall(storm.event(code="STORM-2"), "elsewhere")
    storm.need(event, "mast", rank=2)
    table_says(1)
    Need.objects.filter(pk=need.pk).update(life_safety=True)  # a person knows of it already
    plan = planned(event)
    assert (again(need).rank, again(other).rank) == (1, 3)
    assert [one.key for row in plan.deliveries.all() for one in row.needs.all()] == ["hall"]
    assert "was rank 3" in again(need).rank_reason
    assert Event.objects.get(kind="need_ranked").actor_label == "system"
    planned(event)
    assert Event.objects.filter(kind="need_ranked").count() == 1


def test_the_manager_is_told_how_many_needs_follow(event: EmergencyEvent, manager: Client) -> None:
    hall(event)
    hall(event, "school")
    by_form(manager)
    page = manager.get(reverse("admin:quotes_facilitykind_changelist")).content.decode()
    assert "Open needs with another rank now: 2." in page


# ---- what does not follow ----------------------------------------------------------------------


def test_a_rank_that_a_person_gave_stands(event: EmergencyEvent) -> None:
    need = hall(event, rank_reason="The duty rep: a dialysis patient sleeps there.")
    assert not ranked_by_table(need.rank_reason)
    table_says(2)
    assert ranks_follow(now=LATER) == 0
    assert again(need).rank == 3


FOLLOWS = {
    NeedState.NEEDED: 2, NeedState.PROMISED: 2, NeedState.ON_THE_WAY: 2,
    NeedState.RUNNING: 3, NeedState.DONE: 3, NeedState.WITHDRAWN: 3,
}  # fmt: skip


@pytest.mark.parametrize("state", list(NeedState))
def test_what_is_served_or_over_keeps_the_rank_it_was_served_by(
    event: EmergencyEvent, state: NeedState
) -> None:
    need = hall(event, state=state)
    table_says(2)
    ranks_follow(now=LATER)
    assert again(need).rank == FOLLOWS[state]


def test_other_words_for_the_same_rank_change_nothing(event: EmergencyEvent) -> None:
    need = hall(event)
    FacilityKind.objects.filter(code="shelter").update(why="Other words.")
    assert ranks_follow(now=LATER) == 0
    assert again(need).version == need.version


def test_a_plan_made_by_the_ranks_of_before_does_not_come_in_force(
    event: EmergencyEvent, yard: Branch
) -> None:
    storm.unit("S-1", yard)
    storm.need(event, "mast", rank=2)
    hall(event, life_safety=True, person_cleared_at=NOW, person_cleared_by=User.objects.first())
    plan = planned(event, NOW)
    table_says(1)
    ranks_follow(now=LATER)
    with pytest.raises(PlanOvertaken) as refused:
        plan_put_in_force(plan_id=plan.pk, actor=User.objects.all()[0], now=LATER)
    assert refused.value.changes == ["Hall has rank 1 now; the plan was made with rank 3."]


# ---- life safety -------------------------------------------------------------------------------


def test_a_need_that_becomes_life_safety_waits_for_a_person_who_is_called(
    event: EmergencyEvent, yard: Branch
) -> None:
    storm.unit("S-1", yard)
    need = hall(event)
    hall(event, "school")
    table_says(1)
    plan = planned(event)
    now = again(need)
    assert (now.life_safety, now.waits_for_person, now.owes_call) == (True, True, True)
    assert now.person_reason == LIFE_SAFETY
    assert now.call_back_by == LATER + timedelta(minutes=30)
    assert not plan.deliveries.exists()
    message = OutboxMessage.objects.get(topic=MAIL_TOPIC)  # one call tells of both
    page = Page.objects.get(pk=message.payload["page_id"])
    letter = page_letter(page, also=message.payload["also"], message_id="1", now=LATER)
    assert letter is not None
    assert "and 1 more" in letter.subject
    assert "it was rank 3" in letter.body


def test_a_set_that_is_promised_stays_promised_while_a_person_is_called(
    event: EmergencyEvent, yard: Branch
) -> None:
    storm.unit("S-1", yard)
    need = hall(event)
    actor = User.objects.all()[0]
    plan_put_in_force(plan_id=planned(event, NOW).pk, actor=actor, now=NOW)
    table_says(1)
    again_planned = planned(event)
    now = again(need)
    assert (now.state, now.life_safety, now.waits_for_person) == (NeedState.PROMISED, True, False)
    assert now.owes_call
    assert again_planned.deliveries.filter(needs=need).exists()
    plan_put_in_force(plan_id=again_planned.pk, actor=actor, now=LATER)
    assert list(breaches(now=LATER)) == []


def test_a_call_that_was_made_before_is_owed_anew_and_called_out_again(
    event: EmergencyEvent,
) -> None:
    need = hall(event, call_back_by=NOW + timedelta(minutes=30))
    calls_escalate(now=NOW + timedelta(minutes=31))
    call_back_record(need_id=need.pk, note="", actor=User.objects.all()[0], now=NOW)
    table_says(1)
    ranks_follow(now=LATER)
    assert again(need).owes_call
    assert calls_escalate(now=LATER + timedelta(minutes=31)) == 1
    assert not calls_escalate(now=LATER + timedelta(minutes=32))
    assert Page.objects.filter(need=need, step=1).count() == len(
        {page.target for page in Page.objects.filter(need=need, step=1)}
    )


def test_what_counted_as_life_safety_goes_on_waiting_whatever_its_rank(
    event: EmergencyEvent,
) -> None:
    table_says(1)
    need = hall(event, life_safety=True, needs_person=True, person_reason=LIFE_SAFETY)
    table_says(3)
    assert ranks_follow(now=LATER) == 1
    now = again(need)
    assert (now.rank, now.life_safety, now.waits_for_person) == (3, True, True)


def test_a_rank_that_changes_while_a_need_is_sized_is_not_overlooked(
    event: EmergencyEvent,
) -> None:
    stale = hall(event)
    table_says(1)
    ranks_follow(now=LATER)
    found = Fitness(options=stale.options, findings=[], summary={}, against="", person=[])
    fitness_keep(need=stale, found=found, now=LATER)
    now = again(stale)
    assert (now.rank, now.life_safety, now.waits_for_person) == (1, True, True)
