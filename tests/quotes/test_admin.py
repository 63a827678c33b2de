"""The manager's tools."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from intake.api.keys import key_make
from intake.models import ApiKey, Event
from quotes.demo.people import people_load
from quotes.models import Rate, RateCard, Unit
from quotes.tables.catalogue import TABLES
from quotes.tables.writing import table_text
from tests.config.api.caller import Caller, problem
from tests.quotes.cast import NOW, quoted
from tests.quotes.emergency.conftest import body_made

pytestmark = pytest.mark.django_db
LISTS = [
    "accessorytype", "booking", "branch", "cardfee", "declaredemergency", "deliveryvehicle",
    "exemptioncertificate", "hirecompany", "order", "quote", "rate", "ratecard", "settype",
    "taxrule", "unit",
]  # fmt: skip


@pytest.fixture
def staff(company: None) -> None:
    people_load()


@pytest.fixture
def manager(staff: None, client: Client) -> Client:
    client.force_login(User.objects.get(username="manager"))
    return client


def bring_in(client: Client, text: str, **more: str) -> Any:
    file = SimpleUploadedFile("rates.csv", text.encode(), content_type="text/csv")
    return client.post(reverse("admin:quotes_rates_in"), {"file": file, **more})


@pytest.mark.parametrize("model", LISTS)
def test_every_list_opens_for_the_manager(manager: Client, model: str) -> None:
    quoted()
    assert manager.get(reverse(f"admin:quotes_{model}_changelist")).status_code == 200


@pytest.mark.parametrize("name", ["rep", "viewer"])
def test_others_do_not_get_into_the_admin(staff: None, client: Client, name: str) -> None:
    client.force_login(User.objects.get(username=name))
    for address in ("admin:quotes_ratecard_changelist", "admin:quotes_rates_in"):
        assert client.get(reverse(address)).status_code in (302, 403)


def test_a_file_is_tried_first_and_brought_in_after(manager: Client) -> None:
    text = table_text(TABLES["rates"]).replace("STANDARD-2027,T60,", "STANDARD-2027,T60,1", 1)
    tried = bring_in(manager, text)
    before = Rate.objects.get(card__code="STANDARD-2027", item_code="T60").day
    assert "A dry run" in tried.content.decode()
    done = manager.post(reverse("admin:quotes_rates_in"), {"text": text, "for_good": "1"})
    assert done.status_code == 302
    assert Rate.objects.get(card__code="STANDARD-2027", item_code="T60").day == 1000 + before
    kept = Event.objects.get(kind="owner_table_changed")
    assert kept.actor_label == "Morgan Demo"
    assert kept.data["changed"] == 1


def test_a_file_with_errors_changes_nothing_and_names_the_rows(manager: Client) -> None:
    answer = bring_in(manager, "card,item_code,day\nNOWHERE,T60,5\nSTANDARD-2027,T60,x\n")
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "2 errors. Nothing was changed." in page
    assert "There is no" in page


def test_a_table_is_taken_out_as_it_is(manager: Client) -> None:
    answer = manager.get(reverse("admin:quotes_units_out"))
    assert answer.headers["Content-Type"].startswith("text/csv")
    assert len(answer.content.decode().splitlines()) == Unit.objects.count() + 1


def test_two_cards_in_use_on_one_day_are_refused(manager: Client) -> None:
    card = RateCard.objects.get(code="STANDARD-2027")
    copy = manager.post(
        reverse("admin:quotes_ratecard_changelist"),
        {"action": "copy_cards", "_selected_action": [card.pk]},
    )
    made = RateCard.objects.get(code="STANDARD-2027-copy2")
    assert copy.status_code == 302
    assert (made.in_use, made.rates.count()) == (False, card.rates.count())
    made.in_use = True
    with pytest.raises(Exception, match="end it first"):
        made.full_clean()


def test_the_last_quotes_are_priced_again_with_two_cards(manager: Client) -> None:
    quote = quoted()
    first, second = RateCard.objects.order_by("valid_from")
    answer = manager.get(
        reverse("admin:quotes_ratecard_compare"), {"first": second.pk, "second": first.pk}
    )
    compared = answer.context["compared"]
    assert compared.rows[0].number == quote.number
    assert compared.rows[0].first == quote.total
    assert compared.difference < 0  # the older card is the cheaper one


def test_a_changed_record_is_kept_with_before_and_after(manager: Client) -> None:
    unit = Unit.objects.order_by("pk")[0]
    form = {
        "number": unit.number,
        "set_type": unit.set_type_id,
        "branch": unit.branch_id,
        "state": "workshop",
        "engine_hours": unit.engine_hours,
        "note": "",
    }
    manager.post(reverse("admin:quotes_unit_change", args=[unit.pk]), form)
    kept = Event.objects.get(kind="owner_record_changed")
    assert kept.data["changes"] == "state in_service -> workshop"


def key_asked(client: Client, **changes: Any) -> Any:
    form = {"client_name": "county", "may": ["sites_read"], "organisation": "", "days": "365"}
    address = reverse("admin:intake_apikey_add")
    return client.post(address, {**form, **changes}, follow=True)


def test_a_key_is_made_shown_once_succeeded_and_ended(manager: Client) -> None:
    body = body_made()
    page = key_asked(manager, organisation=body.organisation_id).content.decode()
    (text,) = re.findall(r"swk_[\w-]{43}", page)
    assert json.loads(Caller(text=text).get("sites").content)["items"] == []
    shown = manager.get(reverse("admin:intake_apikey_changelist")).content.decode()
    assert "Alder County" in shown
    assert text not in shown
    key = ApiKey.objects.get()
    assert manager.get(reverse("admin:intake_apikey_change", args=[key.pk])).status_code == 200
    for action, count in (("new_key", 2), ("end_key", 2)):
        chosen = {"action": action, "_selected_action": [key.pk]}
        manager.post(reverse("admin:intake_apikey_changelist"), chosen)
        assert ApiKey.objects.count() == count
    problem(Caller(text=text).get("sites"), 401, "authentication_failed")
    assert Event.objects.filter(kind="owner_record_changed").count() == 3


def test_a_key_of_no_body_or_of_another_person_is_refused(manager: Client) -> None:
    assert "Choose the public body" in key_asked(manager).content.decode()
    other = User.objects.get(username="senior")
    key_make(client_name="desk tool", scopes=["cases"], now=NOW, acts_as=other)
    refused = key_asked(manager, client_name="desk tool", may=["owner"]).content.decode()
    assert "acts as somebody else" in refused
    key_asked(manager, client_name="my tool", may=["owner"])
    acting = ApiKey.objects.get(client__name="my tool").client.acts_as
    assert acting is not None
    assert acting.username == "manager"
    assert ApiKey.objects.count() == 2
