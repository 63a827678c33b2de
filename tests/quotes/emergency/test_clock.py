"""Times are told and typed by the clock of the place, and the page names the zone.

Zones as 49 CFR part 71 draws them, from memory: El Paso County, Texas, lies in mountain time and
the rest of the state but Hudspeth in central; the west of Florida in central, else eastern.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from quotes.emergency.clock import event_zone, need_zone, place_zone
from quotes.models import DutyTurn, EmergencyEvent
from tests.intake.desk import cast
from tests.quotes.cast import NOW
from tests.quotes.emergency import storm

pytestmark = pytest.mark.django_db
ZONES = [
    ("TX-El Paso", "America/Denver"),
    ("TX-Travis", "America/Chicago"),
    ("FL-Escambia", "America/Chicago"),
    ("FL-Miami-Dade", "America/New_York"),
    ("NY", "America/New_York"),
    ("NY-Tamarack", "America/New_York"),  # no such county: the state's
    ("ZZ", ""),
    ("", ""),
]


@pytest.mark.parametrize(("place", "zone"), ZONES)
def test_a_county_keeps_its_own_clock(place: str, zone: str) -> None:
    assert place_zone(place) == zone


def test_an_event_without_a_place_goes_by_most_of_its_needs() -> None:
    made = storm.event()
    for number in range(3):
        storm.need(made, f"mast-{number}", jurisdiction="TX" if number else "NY")
    assert event_zone(made).key == "America/Chicago"
    assert need_zone(made.needs.get(key="mast-0")).key == "America/New_York"


@pytest.fixture
def desk(client: Client) -> Any:
    with time_machine.travel(NOW, tick=False):
        client.force_login(cast.person("some-senior", "senior_rep"))
        yield client


def text(client: Client, name: str, *args: Any) -> str:
    page = client.get(reverse(f"quotes:{name}", args=args)).content
    return BeautifulSoup(page, "html.parser").get_text(" ", strip=True)


def test_event_board_and_site_tell_the_clock_of_the_place(desk: Client) -> None:
    made = storm.event(jurisdiction="NY")
    need = storm.need(made, "mast", need_by=datetime(2027, 5, 11, 2, 30, tzinfo=UTC))
    for name, args in (
        ("emergency_event", ["STORM-1"]),
        ("emergency_board", ["STORM-1"]),
        ("emergency_need", [need.pk]),
    ):
        said = text(desk, name, *args)
        assert "10 May, 22:30" in said, name  # 02:30 UTC
        assert "New York time (EDT)" in said, name


def test_the_duty_is_typed_by_the_clock_of_the_company(desk: Client) -> None:
    manager = cast.person("some-manager", "manager")
    User.objects.filter(pk=manager.pk).update(is_staff=True)
    desk.force_login(User.objects.get(pk=manager.pk))
    address = reverse("admin:quotes_dutyturn_add")
    assert "Denver time (MDT)" in desk.get(address).content.decode()
    said = {
        "user": manager.pk, "branch_code": "", "phone": "970 555 0172", "email": "m@ridge.example",
        "starts_at_0": "2027-05-10", "starts_at_1": "22:00",
        "ends_at_0": "2027-05-11", "ends_at_1": "06:00",
    }  # fmt: skip
    assert desk.post(address, said).status_code == 302
    turn = DutyTurn.objects.get()
    assert turn.starts_at == datetime(2027, 5, 11, 4, 0, tzinfo=UTC)
    shown = desk.get(reverse("admin:quotes_dutyturn_change", args=[turn.pk])).content.decode()
    assert 'value="22:00:00"' in shown


def test_what_is_typed_for_an_event_is_the_clock_of_its_place(desk: Client) -> None:
    said = {"name": "Flood", "code": "FLOOD", "jurisdiction": "NY",
            "expected_end": "2027-05-12T18:00"}  # fmt: skip
    assert desk.post(reverse("quotes:emergency_events"), said).status_code == 302
    event = EmergencyEvent.objects.get()
    assert event.expected_end == datetime(2027, 5, 12, 22, 0, tzinfo=UTC)
    assert event.expected_end - NOW > timedelta(days=1)
