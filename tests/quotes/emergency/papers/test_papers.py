"""Records per site: who may keep them, what they add up to, and terms that hold an uplift down."""

from __future__ import annotations

import csv
import io
from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
import time_machine
from bs4 import BeautifulSoup
from django.contrib.auth.models import User
from django.test import Client
from pypdf import PdfReader

from intake.models import Event, Organisation
from quotes.emergency.papers.pricing import hours_used
from quotes.emergency.planning.force import plan_put_in_force
from quotes.emergency.planning.making import plan_make
from quotes.models import (
    AgreedTerms,
    Branch,
    CardFee,
    DeclaredEmergency,
    DeliveryVehicle,
    EmergencyEvent,
    Need,
    Rate,
    RateCard,
    SiteRecord,
)
from tests.intake.desk import cast
from tests.quotes.cast import NOW
from tests.quotes.emergency import storm
from tests.quotes.emergency.conftest import body_made, site_made

pytestmark = pytest.mark.django_db
PAGE = "/desk/emergency/STORM-1/papers/"
USED = {
    "started_at": "2027-05-10T12:00", "stopped_at": "2027-05-12T12:00", "meter_start": "1200.0",
    "meter_end": "1236.5", "fuel_gallons": "90", "labour_hours": "4", "note": "Hooked up, watched.",
}  # fmt: skip


@pytest.fixture(autouse=True)
def _frozen() -> Any:
    with time_machine.travel(NOW + timedelta(days=3), tick=False):
        yield


@pytest.fixture
def card(db: None) -> RateCard:
    """300 a day, 8 h a day included; fuel 5 a gallon, labour 90 an hour, uplift 20 %."""
    made = RateCard.objects.create(code="ICE", name="Winter", valid_from=NOW.date())
    Rate.objects.create(card=made, item_code="T25", day=300, week=1200, four_weeks=3600)
    for code, amount in (("fuel_gallon", 5), ("connection_hour", 90), ("emergency_uplift", 20)):
        CardFee.objects.create(card=made, code=code, amount=amount)
    DeliveryVehicle.objects.create(
        card=made, code="PICKUP", name="Pickup", tows_kg=9000, trip=100, mile=2
    )
    return made


@pytest.fixture
def event(card: RateCard) -> EmergencyEvent:
    """One set in force at the county's own clinic."""
    yard: Branch = storm.yard()
    made = storm.event()
    storm.unit("S-1", yard)
    body = body_made()
    storm.need(made, "clinic", rank=1, site=site_made(body, state="NY", zip="13617"))
    plan = plan_make(event_id=made.pk, reason="", actor=None, now=NOW, seconds=2)
    plan_put_in_force(plan_id=plan.pk, actor=cast.person("boss", "manager"), now=NOW)
    return made


def address(number: str = "S-1") -> str:
    return f"{PAGE}{Need.objects.get(key='clinic').pk}/{number}/"


@pytest.fixture
def desk(client: Client, event: EmergencyEvent) -> Client:
    client.force_login(cast.person("some-rep", "rep"))
    return client


def lines() -> dict[str, Decimal]:
    return {line.label: line.amount for line in SiteRecord.objects.get().lines.all()}


def test_a_stranger_is_sent_to_sign_in_from_every_page(
    client: Client, event: EmergencyEvent
) -> None:
    for where in (PAGE, f"{PAGE}costs.csv", f"{PAGE}records/1.pdf"):
        answer = client.get(where)
        assert answer.status_code == 302
        assert answer.url.startswith("/accounts/sign-in/")
    assert client.post(address(), USED).url.startswith("/accounts/sign-in/")
    client.force_login(User.objects.create_user("nobody"))
    assert client.get(PAGE).status_code == client.post(address(), USED).status_code == 403
    assert not SiteRecord.objects.exists()


def test_a_viewer_reads_and_keeps_nothing(client: Client, event: EmergencyEvent) -> None:
    client.force_login(cast.person("some-viewer", "viewer"))
    page = client.get(PAGE)
    assert page.status_code == 200
    assert b"Enter what was used" not in page.content
    assert client.post(address(), USED).status_code == 403
    assert not SiteRecord.objects.exists()


def test_a_record_adds_up_by_meter_gallons_and_hours(desk: Client) -> None:
    """Three days of hire; 36.5 h are more than 24 h included: 12.5 h at 900 / 24 an hour."""
    assert desk.post(address(), USED).status_code == 302
    found = lines()
    hire = next(amount for label, amount in found.items() if "25" in label or "T25" in label)
    single = Decimal(900) + Decimal("12.5") * Decimal(900) / 24
    assert hire == min(single, Decimal(1350)).quantize(Decimal("0.01"))
    assert found["Diesel"] == Decimal(450)
    assert found["Labour"] == Decimal(360)
    assert found["Emergency terms"] == (hire * Decimal("0.2")).quantize(Decimal("0.01"))
    assert Event.objects.get(kind="site_recorded").data["total"] == str(sum(found.values()))


def test_no_uplift_beyond_what_is_agreed(desk: Client) -> None:
    AgreedTerms.objects.create(
        organisation=Organisation.objects.get(), valid_from=NOW.date(), valid_until=NOW.date(),
        uplift_cap_percent=Decimal(5), signed_by="Nia Demo", document_reference="AC-7",
    )  # fmt: skip
    desk.post(address(), USED)
    found = lines()
    hire = next(amount for label, amount in found.items() if "25" in label)
    assert found["Emergency terms"] == (hire * Decimal("0.05")).quantize(Decimal("0.01"))
    assert "AC-7" in SiteRecord.objects.get().note


def test_agreed_terms_of_another_day_do_not_count(desk: Client) -> None:
    day = NOW.date() - timedelta(days=1)
    AgreedTerms.objects.create(
        organisation=Organisation.objects.get(), valid_from=day, valid_until=day,
        uplift_cap_percent=Decimal(0), signed_by="Nia Demo", document_reference="AC-6",
    )  # fmt: skip
    desk.post(address(), USED)
    assert lines()["Emergency terms"] > 0


def test_no_uplift_where_the_state_bars_it(desk: Client) -> None:
    DeclaredEmergency.objects.create(state="NY", name="Ice", valid_from=NOW.date())
    desk.post(address(), USED)
    assert "Emergency terms" not in lines()
    assert "Not charged in NY" in SiteRecord.objects.get().note


def test_sent_twice_it_is_one_record_worked_out_anew(desk: Client) -> None:
    desk.post(address(), USED)
    desk.post(address(), {**USED, "fuel_gallons": "10"})
    assert SiteRecord.objects.count() == 1
    assert lines()["Diesel"] == Decimal(50)


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"stopped_at": "2027-05-10T11:00"}, "must stop after it started"),
        ({"meter_end": ""}, "both readings"),
        ({"meter_end": "1100"}, "cannot run back"),
        ({"fuel_gallons": "some"}, "How much fuel?"),
        ({"started_at": ""}, "When did the set start?"),
    ],
)
def test_what_is_wrong_is_said_and_what_was_typed_stays(
    desk: Client, changed: dict[str, str], said: str
) -> None:
    answer = desk.post(address(), {**USED, **changed})
    assert answer.status_code == 422
    page = BeautifulSoup(answer.content, "html.parser")
    assert said in page.get_text()
    assert page.select_one("textarea[name=note]").get_text(strip=True) == USED["note"]  # type: ignore[union-attr]
    assert page.select_one("details[open]") is not None
    assert not SiteRecord.objects.exists()


def test_a_set_that_was_not_brought_has_no_record(desk: Client) -> None:
    answer = desk.post(address("S-9"), USED)
    assert answer.status_code == 409
    assert not SiteRecord.objects.exists()


def test_csv_and_pdf_tell_hours_rate_fuel_and_dates(desk: Client) -> None:
    desk.post(address(), {**USED, "note": "=HYPERLINK(1)"})
    text = b"".join(desk.get(f"{PAGE}costs.csv").streaming_content).decode("utf-8-sig")  # type: ignore[attr-defined]
    rows = list(csv.DictReader(io.StringIO(text)))
    assert {row["hours_used"] for row in rows} == {"36.5"}
    assert {row["hours_by"] for row in rows} == {"hour meter"}
    assert sum(Decimal(row["amount_usd"]) for row in rows) == sum(lines().values())
    assert all(row["remarks"].startswith("'=") for row in rows)
    record = SiteRecord.objects.get()
    printed = desk.get(f"{PAGE}records/{record.pk}.pdf").content
    said = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(printed)).pages)
    for words in ("36.5 h by the hour meter", "90 gal", "S-1", "carbon monoxide", "Total before"):
        assert words.lower() in said.lower()
    assert desk.get(f"{PAGE}records/999.pdf").status_code == 404


def test_the_page_shows_the_record_the_terms_and_the_cautions(desk: Client) -> None:
    desk.post(address(), USED)
    said = BeautifulSoup(desk.get(PAGE).content, "html.parser").get_text(" ")
    assert "No emergency terms on file with Alder County" in said
    assert f"{sum(lines().values())} USD" in said
    assert "carbon monoxide" in said.lower()


def test_without_a_meter_the_clock_counts() -> None:
    hours = hours_used(NOW, NOW + timedelta(hours=5, minutes=20), None, None)
    assert hours == (Decimal("5.3"), False)
