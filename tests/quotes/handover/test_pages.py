"""The pages: at the set without sign-in, the customer's, the desk's; and the demo's whole walk."""

from __future__ import annotations

import io
import json
from collections.abc import Callable, Iterator
from datetime import date
from decimal import Decimal
from pathlib import Path
from typing import Any
from uuid import uuid4

import pypdf
import pytest
import time_machine
from bs4 import BeautifulSoup
from django.contrib.auth.models import User
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from intake.models import HireRequest
from quotes.demo.people import people_load
from quotes.handover.calls import Caller, service_case_open
from quotes.handover.changing import change_agree, change_propose
from quotes.handover.checklist import items_of
from quotes.handover.readings import Entered, reading_add
from quotes.handover.settling import sent_accessories
from quotes.handover.units import job_of_unit, unit_token
from quotes.models import HireChange, Order, OutUnit, Reading, ServiceCase, SignOff, Statement
from tests.disk import FULL
from tests.quotes.cast import quoted
from tests.quotes.handover.walking import DELIVERED, days, ordered, out_of, picture, sign

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company")]
Holder = Callable[[HireRequest], Client]


@pytest.fixture(autouse=True)
def _during_the_hire() -> Iterator[None]:
    with time_machine.travel(days(1), tick=False):
        yield


@pytest.fixture(autouse=True)
def _media(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = str(tmp_path)


@pytest.fixture
def order() -> Order:
    return ordered()


@pytest.fixture
def out(order: Order) -> OutUnit:
    return out_of(order)


@pytest.fixture
def rep() -> Client:
    people_load()
    client = Client()
    client.force_login(User.objects.get(username="rep"))
    return client


def at_set(out: OutUnit, name: str = "set") -> str:
    token = unit_token(out.order.number, out.unit.number, 1)
    return reverse(f"quotes:{name}", args=[token])


def desk(name: str, out: OutUnit, *more: str) -> str:
    return reverse(f"quotes:{name}", args=[out.order.number, out.unit.number, *more])


def hire(name: str, order: Order) -> str:
    return reverse(f"quotes:{name}", args=[order.request.reference])


def words(answer: object) -> str:
    return BeautifulSoup(answer.content, "html.parser").get_text(" ", strip=True)  # type: ignore[attr-defined]


def pdf_words(content: bytes) -> str:
    pages = pypdf.PdfReader(io.BytesIO(content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


def test_the_page_at_the_set_shows_how_to_start_it_and_nothing_private(
    client: Client, order: Order, out: OutUnit
) -> None:
    answer = client.get(at_set(out))
    page = answer.content.decode()
    assert "480Y/277 V" in words(answer)
    assert "1,000 to 1,200 rpm" in words(answer)
    private = [
        *(order.number, order.request.reference, "Ada", "Alder", "80424", "Frisco", "PO"),
        *(str(order.quote.total), f"{order.quote.total:,.2f}", "303555", "Jun 2027"),
    ]
    assert not [word for word in private if word in page.replace(at_set(out), "")]
    assert answer.headers["Referrer-Policy"] == "same-origin"  # the address itself is the key
    assert "no-store" in answer.headers["Cache-Control"]


def test_a_guessed_or_an_ended_token_opens_nothing(client: Client, out: OutUnit) -> None:
    assert client.get(reverse("quotes:set", args=["x" * 43])).status_code == 404
    OutUnit.objects.update(ended_at=DELIVERED)
    assert client.get(at_set(out)).status_code == 404
    assert client.get(at_set(out, "set_help")).status_code == 404


def test_the_questions_lead_page_by_page_to_a_case_without_script(
    client: Client, out: OutUnit
) -> None:
    url = at_set(out, "set_help")
    for wanted in ("No", "Nothing happens", "No, it is out", "It was on", "No, it stays dark"):
        page = BeautifulSoup(client.get(url).content, "html.parser")
        links = [a for a in page.select(".answer-list a") if a.get_text().startswith(wanted)]
        url = at_set(out, "set_help") + str(links[0]["href"])
    assert "flat battery" in words(client.get(url))
    said = {"client_key": uuid4(), "name": "Bo", "phone": "5550100", "words": "Dark"}
    assert "a service case is open" in words(client.post(url, said))
    client.post(url, said)
    assert ServiceCase.objects.get().end == "call_dark"


def test_nonsense_in_a_path_starts_again(client: Client, out: OutUnit) -> None:
    answer = client.get(at_set(out, "set_help") + "?path=danger.perhaps")
    assert "Is anybody hurt" in words(answer)


def test_the_questions_speak_spanish(client: Client, out: OutUnit) -> None:
    answer = client.get(at_set(out, "set_help"), headers={"Accept-Language": "es"})
    assert "¿Hay alguien herido" in words(answer)


def test_the_customer_enters_a_reading_and_sees_what_stands_out(
    order: Order, out: OutUnit, holder: Holder
) -> None:
    sign(out)
    client, url = holder(order.request), hire("handover", order)
    said = {"unit": out.unit.number, "client_key": uuid4(), "engine_hours": "1224",
            "fuel_percent": "90", "load_kw": "12"}  # fmt: skip
    assert "12 kW" in words(client.post(url, said, follow=True))
    client.post(url, said)
    assert Reading.objects.count() == 1
    wrong = client.post(url, {**said, "client_key": uuid4(), "engine_hours": "900"})
    assert wrong.status_code == 422
    assert "never runs back" in words(wrong)
    assert 'value="900"' in wrong.content.decode()


def test_a_longer_hire_is_two_taps_with_the_price_in_between(order: Order, holder: Holder) -> None:
    client = holder(order.request)
    page = BeautifulSoup(client.get(hire("handover", order)).content, "html.parser")
    tap = next(a for a in page.select("a") if a.get_text() == "One week longer")
    shown = BeautifulSoup(client.get(tap["href"]).content, "html.parser")
    button = shown.select_one("main .button")
    assert button is not None
    assert "Agree, new total $" in button.get_text()
    form = {
        str(i["name"]): str(i.get("value", ""))
        for i in shown.select("form[method=post] input[name]")
    }
    assert form["name"] == "Ada Story"
    client.post(hire("hire_change", order), form)
    made = HireChange.objects.get()
    assert f"{made.total:,.2f}" in button.get_text()
    client.post(hire("hire_change", order), form)
    assert HireChange.objects.count() == 1


def test_a_changed_price_is_refused_with_the_new_one(order: Order, holder: Holder) -> None:
    said = {"to": "2027-06-21", "difference": "1.00", "name": "Ada", "client_key": uuid4()}
    answer = holder(order.request).post(hire("hire_change", order), said)
    assert answer.status_code == 409
    assert "Nothing was agreed" in words(answer)
    assert not HireChange.objects.exists()


@pytest.mark.parametrize("name", ["handover", "hire_change", "statement"])
def test_a_stranger_sees_no_hire(client: Client, order: Order, name: str) -> None:
    assert client.get(hire(name, order)).status_code == 404
    assert client.post(hire(name, order), {"to": "2027-06-21"}).status_code in (404, 405)


@pytest.mark.parametrize(
    ("name", "more"),
    [("desk_sign", ["delivery"]), ("desk_help", []), ("desk_sheet", ["sheet"]), ("desk_read", []),
     ("desk_swap", [])],
)  # fmt: skip
def test_a_stranger_is_sent_to_sign_in(
    client: Client, out: OutUnit, name: str, more: list[str]
) -> None:
    answer = client.post(desk(name, out, *more)) if name in ("desk_read", "desk_swap") else (
        client.get(desk(name, out, *more))
    )  # fmt: skip
    assert answer.status_code == 302
    assert "sign-in" in answer.headers["Location"]


def form_of(out: OutUnit, kind: str = "delivery", **more: str) -> dict[str, str]:
    ticks = {f"tick-{key}": "on" for key in items_of(job_of_unit(out), kind)}
    counts = {f"count-{c}": str(n) for c, n in sent_accessories(out.order.quote).items()}
    said = {"client_key": str(uuid4()), "engine_hours": "1200", "fuel_percent": "100",
            "connector": "Ed Wire", "name": "Ada Story"}  # fmt: skip
    return {**ticks, **counts, **said, **more}


def test_a_driver_signs_on_the_phone_and_sending_again_doubles_nothing(
    rep: Client, out: OutUnit
) -> None:
    form, script = form_of(out), {"X-Sent-By": "script"}
    url = desk("desk_sign", out, "delivery")
    first, again = rep.post(url, form, headers=script), rep.post(url, form, headers=script)
    assert (first.status_code, again.status_code) == (201, 200)
    assert json.loads(first.content)["done"] == reverse(
        "quotes:desk_order", args=[out.order.number]
    )
    assert SignOff.objects.get().ticks.count() == len(items_of(job_of_unit(out)))


def test_a_missing_photo_is_said_plainly_and_can_be_added(
    rep: Client, out: OutUnit, settings: Any
) -> None:
    room, url = settings.STORAGES, desk("desk_sign", out, "delivery")
    order = reverse("quotes:desk_order", args=[out.order.number])
    settings.STORAGES = {**room, "default": FULL}
    rep.post(url, {**form_of(out), "photo_fuel": picture()})
    assert "There was no room for 1 of the photos: fuel gauge." in words(rep.get(order))
    page = BeautifulSoup(rep.get(url).content, "html.parser")
    known = {one["name"]: one["value"] for one in page.select("main input[type=hidden]")}
    assert [one["name"] for one in page.select("input[type=file]")] == ["photo_fuel"]
    script = rep.post(url, {**known, "photo_fuel": picture()}, headers={"X-Sent-By": "script"})
    assert json.loads(script.content) == {"done": order, "missing": "fuel gauge"}
    bad = SimpleUploadedFile("a.jpg", b"not a photo", "image/jpeg")
    assert "not a photo we can read" in words(rep.post(url, {**known, "photo_fuel": bad}))
    settings.STORAGES = room
    assert rep.post(url, {**known, "photo_fuel": picture()}).status_code == 302
    assert "no room" not in words(rep.get(order))
    assert SignOff.objects.get().photos.get().subject == "fuel"


def test_an_open_item_comes_back_with_its_words_and_nothing_typed_is_lost(
    rep: Client, out: OutUnit
) -> None:
    form = form_of(out)
    form.pop("tick-selector")
    answer = rep.post(desk("desk_sign", out, "delivery"), form)
    page = BeautifulSoup(answer.content, "html.parser")
    assert answer.status_code == 422
    assert page.select_one('.error-summary a[href="#tick-selector"]')
    assert page.select_one("#tick-gfci")["checked"] == ""  # type: ignore[index]
    assert page.select_one("#id_name")["value"] == "Ada Story"  # type: ignore[index]


def test_the_desk_reads_swaps_helps_and_settles(rep: Client, out: OutUnit) -> None:
    rep.post(desk("desk_sign", out, "delivery"), form_of(out))
    rep.post(desk("desk_read", out), {"client_key": uuid4(), "engine_hours": "1201",
                                      "fuel_percent": "95", "pumped_l": "100"})  # fmt: skip
    assert Reading.objects.get().pumped_l == 100
    assert "Is anybody hurt" in words(rep.get(desk("desk_help", out)))
    page = rep.get(reverse("quotes:desk_order", args=[out.order.number]))
    assert "100.0 L pumped" in words(page)
    assert out.order.number in words(rep.get(reverse("quotes:desk_out")))
    early = rep.post(reverse("quotes:desk_settle", args=[out.order.number]), {"make": "1"})
    assert "Still to be signed back in" in words(early)
    rep.post(desk("desk_sign", out, "return"), form_of(out, "return", engine_hours="1210"))
    rep.post(reverse("quotes:desk_settle", args=[out.order.number]), {"make": "1"})
    assert Statement.objects.get().order == out.order
    content = rep.get(reverse("quotes:desk_statement", args=[out.order.number])).content
    assert "Final statement" in pdf_words(content)


def test_another_units_or_orders_page_is_not_there(rep: Client, out: OutUnit) -> None:
    assert rep.get(reverse("quotes:desk_order", args=["NOPE"])).status_code == 404
    url = reverse("quotes:desk_sign", args=[out.order.number, "NOPE", "delivery"])
    assert rep.get(url).status_code == 404
    assert rep.get(desk("desk_sign", out, "lunch")).status_code == 404


def test_the_sheets_are_tagged_pdfs_of_this_job(rep: Client, out: OutUnit) -> None:
    sheet = rep.get(desk("desk_sheet", out, "sheet")).content
    card = rep.get(desk("desk_sheet", out, "card")).content
    for item in items_of(job_of_unit(out)).values():
        assert " ".join(item.text.split())[:40] in pdf_words(sheet)
    # ISO 14289-1 (PDF/UA-1): tagged; typst checks the rest.
    assert pypdf.PdfReader(io.BytesIO(card)).trailer["/Root"]["/MarkInfo"]["/Marked"].value
    text = pdf_words(card)
    assert "Start card" in text
    assert "Tarjeta de arranque" in text
    assert len(pypdf.PdfReader(io.BytesIO(card)).pages) == 2
    private = [out.order.number, "Ada", "Alder", str(out.order.quote.total)]
    assert not [word for word in private if word in text]


def test_letters_tell_both_sides_and_a_report_only_the_branch(order: Order, out: OutUnit) -> None:
    from quotes.handover.letters import case_letters, change_letters, note_letters

    sign(out)
    client_key = uuid4
    reading, _new = reading_add(
        out_unit_id=out.pk, by="Ada", actor="customer", now=days(1),
        entered=Entered(client_key(), Decimal(1210), 95, Decimal(12)),
    )  # fmt: skip
    notes = note_letters(reading, "id")
    branch = order.quote.branch.email  # type: ignore[union-attr]
    assert [letter.to for letter in notes] == [["ada@alder.example"], [branch]]
    assert "12 kW" in notes[0].body
    shown = change_propose(order=order, to_end=date(2027, 6, 21), now=days(1))
    change = change_agree(
        order_id=order.pk, to_end=shown.to_end, difference=shown.difference, name="Ada",
        client_key=client_key(), now=days(1),
    )  # fmt: skip
    assert f"{change.total}" in change_letters(change, "id")[0].body
    case = service_case_open(
        out=out, path="danger.yes", client_key=client_key(), caller=Caller("Bo"), now=days(1)
    )
    (letter,) = case_letters(case, "id")
    assert (letter.to, "emergency" in letter.subject) == ([branch], True)
    assert "Is anybody hurt" in letter.body


def test_the_demo_walks_an_order_to_its_final_statement(tmp_path: Path) -> None:
    quote = quoted(now=days(1), hire={"start": "2027-07-01", "end": "2027-07-14"})
    call_command("handover_demo", folder=tmp_path, stdout=io.StringIO())
    made = Statement.objects.get(order__quote=quote)
    assert made.net == sum(line.amount for line in made.lines.all())
    assert {path.stem for path in tmp_path.glob("*.pdf")} == {
        "start-card", "delivery-sheet", "statement",
    }  # fmt: skip
