"""The desk's pages of an event: who may do what, what is shown, what is refused and kept."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.contrib.auth.models import User
from django.test import Client
from django.urls import URLPattern, reverse

from intake.models import OutboxMessage
from quotes.emergency.event.urls import urlpatterns
from quotes.emergency.planning.force import plan_put_in_force
from quotes.emergency.planning.making import TOPIC, plan_make
from quotes.models import Branch, EmergencyEvent, Need, NeedState, PlanChoice, PlanState, Unit
from tests.intake.desk import cast
from tests.quotes.cast import NOW
from tests.quotes.emergency import storm

pytestmark = pytest.mark.django_db
SEEN = {"emergency_events", "emergency_event", "emergency_board", "emergency_need",
        "emergency_need_pdf"}  # fmt: skip
DECIDED = {"emergency_in_force", "emergency_close"}
ROLES = ("viewer", "rep", "senior_rep", "manager")


@pytest.fixture(autouse=True)
def _frozen() -> Any:
    with time_machine.travel(NOW + timedelta(minutes=10), tick=False):
        yield


@pytest.fixture
def yard(db: None) -> Branch:
    return storm.yard()


@pytest.fixture
def event(yard: Branch) -> EmergencyEvent:
    """One set, a clinic that gets it, a mast that does not, a hall that waits for a person."""
    made = storm.event()
    storm.unit("S-1", yard)
    storm.need(made, "clinic", rank=1)
    storm.need(made, "mast")
    storm.need(made, "hall", needs_person=True, person_reason="No switch.", latitude="44.2",
               transfer_equipment="none")  # fmt: skip
    plan_make(event_id=made.pk, reason="First", actor=None, now=NOW, seconds=2)
    return made


def user(role: str) -> User:
    return cast.person(f"some-{role}", role)


@pytest.fixture
def desk(client: Client) -> Client:
    client.force_login(user("senior_rep"))
    return client


def address(pattern: URLPattern | str, **more: Any) -> str:
    name = pattern if isinstance(pattern, str) else str(pattern.name)
    known = {"code": "STORM-1", "number": 1, "choice_id": 1, **more}
    known.setdefault("need_id", Need.objects.order_by("pk").values_list("pk", flat=True).first())
    if "_fail" in name or "_back" in name:
        known["number"] = "S-1"
    wanted = next(p for p in urlpatterns if p.name == name).pattern.converters
    return reverse(f"quotes:{name}", kwargs={one: known[one] for one in wanted})


def visited(client: Client, pattern: URLPattern) -> Any:
    seen = pattern.name in SEEN
    return client.get(address(pattern)) if seen else client.post(address(pattern))


def page(client: Client, name: str = "emergency_event") -> BeautifulSoup:
    answer = client.get(address(name))
    assert answer.status_code == 200
    return BeautifulSoup(answer.content, "html.parser")


# ---- who ---------------------------------------------------------------------------------------


def test_a_stranger_is_sent_to_sign_in_from_every_page(
    client: Client, event: EmergencyEvent
) -> None:
    for pattern in urlpatterns:
        answer = visited(client, pattern)
        assert (answer.status_code, "/accounts/sign-in/" in answer.url) == (302, True), pattern.name


def test_somebody_without_a_role_is_refused_everywhere(
    client: Client, event: EmergencyEvent
) -> None:
    client.force_login(User.objects.create_user("nobody"))
    assert {visited(client, pattern).status_code for pattern in urlpatterns} == {403}


@pytest.mark.parametrize("role", ROLES)
def test_each_role_does_what_is_its_own(client: Client, event: EmergencyEvent, role: str) -> None:
    client.force_login(user(role))
    opened = {str(p.name) for p in urlpatterns if visited(client, p).status_code != 403}
    every = {str(p.name) for p in urlpatterns}
    allowed = {"viewer": SEEN, "rep": every - DECIDED}.get(role, every)
    assert opened == allowed


def test_a_viewer_and_a_rep_see_no_button_that_is_not_theirs(
    client: Client, event: EmergencyEvent
) -> None:
    client.force_login(user("viewer"))
    forms = {form["action"] for form in page(client).select("main form")}
    assert forms == set()
    client.force_login(user("rep"))
    assert page(client).select("#put-in-force") == []
    client.force_login(user("senior_rep"))
    assert len(page(client).select("#put-in-force")) == 1


def test_only_a_senior_rep_opens_an_event(client: Client, yard: Branch) -> None:
    loose = storm.need(None, "early")
    said = {
        "name": "Flood, Alder County",
        "code": "flood-1",
        "jurisdiction": "",
        "expected_end": "",
    }
    client.force_login(user("rep"))
    assert client.post(reverse("quotes:emergency_events"), said).status_code == 422
    client.force_login(user("manager"))
    assert client.post(reverse("quotes:emergency_events"), said).status_code == 302
    assert EmergencyEvent.objects.get().code == "FLOOD-1"
    loose.refresh_from_db()
    assert loose.event is not None
    twice = client.post(reverse("quotes:emergency_events"), said)
    assert (twice.status_code, b"Flood, Alder County" in twice.content) == (422, True)


# ---- what is shown -----------------------------------------------------------------------------


@pytest.mark.parametrize("name", sorted(SEEN - {"emergency_need_pdf"}))
def test_every_page_warns_of_exhaust_and_backfeed(
    desk: Client, event: EmergencyEvent, name: str
) -> None:
    words = page(desk, name).select_one(".event-cautions")
    assert words is not None
    assert "carbon monoxide" in words.text
    assert "line workers" in words.text


def test_the_event_says_what_is_unmet_and_who_waits(desk: Client, event: EmergencyEvent) -> None:
    shown = page(desk)
    unmet = shown.select_one(".unmet")
    assert unmet is not None
    assert "Mast" in unmet.text
    assert "none is free, they go elsewhere: T25 to Clinic (life-saving)" in unmet.text
    waits = shown.select_one(".finding-needs_person")
    assert waits is not None
    assert "No switch." in waits.text


def test_the_rank_is_shown_with_its_reason(desk: Client, event: EmergencyEvent) -> None:
    assert page(desk).text.count("As the county ranks it.") == 3


def test_the_board_shows_every_need_by_shape_number_and_word(
    desk: Client, event: EmergencyEvent
) -> None:
    plan_put_in_force(plan_id=event.plans.get().pk, actor=user("manager"), now=NOW)
    shown = page(desk, "emergency_board")
    titles = sorted(one.text for one in shown.select(".map-mark title"))
    assert [title.split(", ", 1)[1] for title in titles] == [
        "Clinic: promised",
        "Mast: needed",
        "Hall: needed, waits for a person",
    ]
    assert len(shown.select("svg .map-promised circle")) >= 1
    assert len(shown.select("svg .map-needed polygon")) >= 2
    assert "leaves 11:00, runs" in shown.text  # 15:00 UTC, by the clock of the yard in New York
    assert [one.text for one in shown.select(".map-yard title")] == ["Yard A: Storm yard"]


def test_a_part_is_all_that_the_boards_refresh_brings(desk: Client, event: EmergencyEvent) -> None:
    answer = desk.get(address("emergency_board"), headers={"HX-Request": "true"})
    assert answer.content.strip().startswith(b'<div id="board"')
    part = desk.get(f"{address('emergency_event')}?part=planning", headers={"HX-Request": "true"})
    assert part.content.strip().startswith(b'<div id="planning"')


def test_more_needs_cost_no_more_questions(
    desk: Client, event: EmergencyEvent, django_assert_max_num_queries: Any
) -> None:
    for number in range(20):
        storm.need(event, f"mast-{number}")
    with django_assert_max_num_queries(16):
        desk.get(address("emergency_board"))
    with django_assert_max_num_queries(26):
        desk.get(address("emergency_event"))


# ---- what is done ------------------------------------------------------------------------------


def test_a_plan_is_asked_for_and_the_page_says_so(desk: Client, event: EmergencyEvent) -> None:
    desk.post(address("emergency_plan"), {"reason": "A set failed"})
    message = OutboxMessage.objects.get(topic=TOPIC)
    assert message.payload["reason"] == "A set failed"
    assert "A plan is being made. Once begun it may take 20 s" in page(desk).text


def test_the_page_says_how_long_a_plan_of_a_large_event_may_take(
    desk: Client, event: EmergencyEvent, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The clinic and the mast and the hall, and the set there is: of others by the same count."""
    asked: list[tuple[int, int]] = []

    def seconds(sites: int, sets: int) -> float:
        asked.append((sites, sets))
        return 360.0

    monkeypatch.setattr("quotes.emergency.event.page.plan_seconds", seconds)
    assert "being made" not in page(desk).text
    desk.post(address("emergency_plan"), {"reason": ""})
    assert "it may take about 6 min" in page(desk).text
    assert asked == [(3, 1)]
    told = page(desk).select_one("#planning")
    assert told is not None
    assert told["hx-trigger"] == "every 10s"


def test_while_it_waits_the_page_asks_for_no_more_than_it_shows(
    desk: Client, event: EmergencyEvent, django_assert_max_num_queries: Any
) -> None:
    for number in range(20):
        storm.need(event, f"mast-{number}")
    desk.post(address("emergency_plan"), {"reason": ""})
    part = f"{address('emergency_event')}?part=planning"
    with django_assert_max_num_queries(15):
        answer = desk.get(part, headers={"HX-Request": "true"})
    told = BeautifulSoup(answer.content, "html.parser").select_one("#planning")
    assert told is not None
    assert (told["hx-trigger"], "Mast" in answer.content.decode()) == ("every 2s", False)


def test_in_force_from_the_page(desk: Client, event: EmergencyEvent) -> None:
    assert desk.post(address("emergency_in_force")).status_code == 302
    assert event.plans.get().state == PlanState.IN_FORCE
    assert "Plan 1 is in force" in page(desk).text


def test_refused_the_page_lists_what_changed(desk: Client, event: EmergencyEvent) -> None:
    Unit.objects.update(state="workshop")
    answer = desk.post(address("emergency_in_force"))
    assert answer.status_code == 409
    told = BeautifulSoup(answer.content, "html.parser").select_one("#refused")
    assert told is not None
    assert "Nothing was booked; plan again." in told.text
    assert "S-1 is not free any more." in told.text


def test_a_refused_pin_keeps_what_was_typed(desk: Client, event: EmergencyEvent) -> None:
    typed = {"unit": "S-7", "kind": "forbid", "reason": "The bridge is out."}
    answer = desk.post(address("emergency_choose"), typed)
    assert answer.status_code == 422
    body = answer.content.decode()
    assert "There is no set with the number" in body
    assert 'value="S-7"' in body
    assert 'value="The bridge is out."' in body
    desk.post(address("emergency_choose"), {**typed, "unit": "s-1"})
    choice = PlanChoice.objects.get()
    assert (choice.unit.number, choice.kind, choice.active) == ("S-1", "forbid", True)
    assert "must not serve Clinic" in page(desk).text
    desk.post(address("emergency_choice_end", choice_id=choice.pk))
    assert "must not serve Clinic" not in page(desk).text


def test_a_refused_clearance_keeps_what_was_typed(desk: Client, event: EmergencyEvent) -> None:
    hall = Need.objects.get(key="hall")
    where = address("emergency_clear", need_id=hall.pk)
    answer = desk.post(where, {"reason": "Spoke with the janitor"})
    assert answer.status_code == 422
    assert b"Power sent back kills line workers" in answer.content
    assert b'value="Spoke with the janitor"' in answer.content
    desk.post(where, {"reason": "Switch put in", "transfer_equipment": "manual_switch"})
    hall.refresh_from_db()
    assert not hall.waits_for_person


def test_a_need_moves_along_and_only_as_it_may(desk: Client, event: EmergencyEvent) -> None:
    desk.post(address("emergency_in_force"))
    clinic = Need.objects.get(key="clinic")
    where = address("emergency_move", need_id=clinic.pk)
    for target in ("on_the_way", "running"):
        assert desk.post(where, {"target": target}).status_code == 302
    assert desk.post(where, {"target": "promised"}).status_code == 409
    clinic.refresh_from_db()
    assert clinic.state == NeedState.RUNNING
    old = desk.post(where, {"target": "done", "version": "1"})
    assert (old.status_code, b"Somebody changed this" in old.content) == (412, True)
    assert desk.post(where, {"target": "nowhere"}).status_code == 422
    part = desk.post(where, {"target": "done"}, headers={"HX-Request": "true"})
    assert part.content.strip().startswith(b'<div id="board"')


def test_without_a_set_nothing_is_on_the_way(desk: Client, event: EmergencyEvent) -> None:
    mast = Need.objects.get(key="mast")
    answer = desk.post(address("emergency_move", need_id=mast.pk), {"target": "on_the_way"})
    assert answer.status_code == 409


def test_a_set_fails_and_is_mended_from_the_page(desk: Client, event: EmergencyEvent) -> None:
    assert desk.post(address("emergency_fail"), {"reason": ""}).status_code == 422
    desk.post(address("emergency_fail"), {"reason": "No start"})
    assert "in the workshop: No start" in page(desk).text
    desk.post(address("emergency_back"))
    assert "in the workshop" not in page(desk).text


def test_an_event_closes_once_nothing_is_open(desk: Client, event: EmergencyEvent) -> None:
    refused = desk.post(address("emergency_close"))
    assert (refused.status_code, b"3 needs are still open" in refused.content) == (422, True)
    Need.objects.update(state="withdrawn")
    desk.post(address("emergency_close"))
    event.refresh_from_db()
    assert event.state == "closed"
    assert page(desk).select("main form") == []


def test_a_need_without_an_event_is_taken_in(desk: Client, event: EmergencyEvent) -> None:
    loose = storm.need(None, "late")
    assert "Needs that belong to no event" in page(desk).text
    desk.post(address("emergency_take_in", need_id=loose.pk))
    loose.refresh_from_db()
    assert loose.event == event
