"""Feeding a building: the hook-up stands on every page and paper; without transfer equipment none.

Source: NEC 2023, 702.5 (transfer equipment before an optional standby system feeds a building) and
90.4 (the authority having jurisdiction decides), as the project's table of cautions cites them.
"""

from __future__ import annotations

import io
from datetime import timedelta
from typing import Any

import pypdf
import pytest
import time_machine
from bs4 import BeautifulSoup
from django.test import Client
from django.urls import reverse

from intake.desk.errors import FindingStays
from intake.desk.services.settling import finding_settle
from intake.models import Case, FindingState, Status
from quotes.emergency.hookup import THREE_PHASES, hook_up, who_may_connect
from quotes.emergency.papers.page import site_facts
from quotes.emergency.planning.choices import need_clear
from quotes.emergency.planning.errors import ChoiceRefused
from quotes.emergency.sites.raising import connection_of
from quotes.emergency.sites.sizing import site_size
from quotes.emergency.sizing_needs import need_size
from quotes.models import Need, Order, PublicBody, Quote
from tests.intake.desk import cast
from tests.quotes.cast import NOW
from tests.quotes.emergency import storm
from tests.quotes.emergency.conftest import express_form, signed_in, site_made

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company", "frozen")]
DETAILS: dict[str, Any] = {
    "transfer_note": "400 A, behind the pump room",
    "route_note": "Over the sidewalk, in a ramp",
    "second_contact": "Bo Demo",
    "second_phone": "970 555 0172",
    "assessed_by": "Lee Wire, licence 4471",
}
SAID = ("manual transfer switch", "cam connectors; 66 ft of leads", *DETAILS.values())
NOBODY = "Nobody connects a set here: nothing parts the building from the utility."


def raised(body: PublicBody, **fields: Any) -> Need:
    site = site_made(body, **fields)
    signed_in(body).post("/emergency/sites/", {"site": [site.key], "need_in": "6"})
    return Need.objects.select_related("request", "site").get(site=site)


def expressed(client: Client, **changed: str) -> Need:
    client.post("/emergency/", express_form(client, **changed))
    return Need.objects.select_related("request", "site").get()


def text(content: bytes) -> str:
    return BeautifulSoup(content, "html.parser").get_text(" ", strip=True)


def test_a_standing_sites_hook_up_stands_on_page_and_paper(
    client: Client, body: PublicBody
) -> None:
    need = raised(body, **DETAILS)
    client.force_login(cast.person("ida", "rep"))
    page = text(client.get(reverse("quotes:emergency_need", args=[need.pk])).content)
    facts = str(site_facts(need))
    for said in (*SAID, "licensed electrician", "carbon monoxide", "kills line workers"):
        assert said in page, said
        assert said in facts, said
    paper = client.get(reverse("quotes:emergency_need_pdf", args=[need.pk]))
    assert paper.content.startswith(b"%PDF")


def test_the_event_says_the_hook_up_beside_each_need(client: Client, body: PublicBody) -> None:
    event = storm.event(jurisdiction="CO-Morgan")
    raised(body)
    client.force_login(cast.person("ida", "rep"))
    page = text(client.get(reverse("quotes:emergency_event", args=[event.code])).content)
    assert "transfer equipment: manual transfer switch; cam connectors; 66 ft of leads" in page


def test_what_an_express_request_adds_is_the_same_hook_up(client: Client) -> None:
    need = expressed(client)
    assert hook_up(need).asked == ("how the leads are connected", "the way of the leads")
    client.post(
        f"/request/{need.key}/emergency/more/", {"connection": "lugs", "lead_length_ft": "80"}
    )
    need.refresh_from_db()
    found = hook_up(need)
    assert (found.connection, found.leads, found.asked) == ("lugs", "80 ft of leads", ())


def test_every_field_of_a_connection_is_shown(body: PublicBody) -> None:
    notes = {
        name: f"so {name}"
        for name in ("phases_note", "service_note", "transfer_note", "route_note", "access_note",
                     "connect_material_note", "ground_note", "noise_note", "fuel_note",
                     "existing_set_note", "hazards_note", "sketch_note", "second_contact")
    }  # fmt: skip
    need = raised(body, **notes)
    shown = {value for _label, value in hook_up(need).lines}
    assert set(notes.values()) <= shown
    assert set(connection_of(need.site)) - set(notes) == {  # type: ignore[arg-type]
        "supply", "main_breaker_a", "transfer_equipment", "connection", "lead_length_m",
    }  # fmt: skip


@pytest.mark.parametrize("way", ["express", "standing"])
def test_without_transfer_equipment_a_person_and_no_quote(
    client: Client, body: PublicBody, way: str
) -> None:
    if way == "express":
        need = expressed(client, transfer_equipment="none")
    else:
        need = raised(body, transfer_equipment="none")
        site_size(site_id=need.site_id or 0, now=NOW)
    assert need_size(need_id=need.pk, now=NOW)
    need.refresh_from_db()
    rep = cast.person("ida", "manager")
    assert need.waits_for_person
    assert "Nothing parts the building from the utility" in need.person_reason
    assert who_may_connect(need)[0].startswith(NOBODY)
    with pytest.raises(ChoiceRefused, match="kills line workers"):
        need_clear(need_id=need.pk, reason="It will do", actor=rep, now=NOW)
    case = Case.objects.get(request=need.request)
    finding = case.findings.get(code="backfeed")
    with pytest.raises(FindingStays):
        finding_settle(
            finding=finding, version=case.version, actor=rep, state=FindingState.ACCEPTED,
            reason="It will do", now=NOW,
        )  # fmt: skip
    assert need.request_or_fail.status == Status.IN_REVIEW
    assert not Quote.objects.exists()


def test_found_out_later_that_nothing_parts_it_a_person_looks_again(
    client: Client,
) -> None:
    need = expressed(client, facility_kind="medical")
    need_size(need_id=need.pk, now=NOW)
    need_clear(need_id=need.pk, reason="Spoke", actor=cast.person("ida", "rep"), now=NOW)
    answer = need.request_or_fail.answers.filter(key="transfer_equipment")
    answer.update(value="no", updated_at=NOW + timedelta(minutes=1))
    need_size(need_id=need.pk, now=NOW)
    need.refresh_from_db()
    assert (need.transfer_equipment, need.waits_for_person) == ("none", True)


def test_what_a_person_found_outlasts_the_answer_before(client: Client) -> None:
    need = expressed(client, transfer_equipment="none")
    rep = cast.person("ida", "rep")
    need_clear(need_id=need.pk, reason="There is a switch", transfer_equipment="manual_switch",
               actor=rep, now=NOW)  # fmt: skip
    need_size(need_id=need.pk, now=NOW)
    need.refresh_from_db()
    assert (need.transfer_equipment, need.waits_for_person) == ("manual_switch", False)


def test_an_order_carries_the_hook_up(client: Client, body: PublicBody) -> None:
    from tests.quotes.handover import walking

    with time_machine.travel(NOW, tick=False):
        order = walking.ordered()
    need = raised(body, **DETAILS)
    Need.objects.filter(pk=need.pk).update(request=order.request)
    client.force_login(cast.person("ida", "rep"))
    page = text(client.get(reverse("quotes:desk_order", args=[order.number])).content)
    for said in SAID:
        assert said in page, said


def sheet_of(order: Order) -> tuple[str, str]:
    """The delivery sheet of an order's only set: as a page and as a PDF."""
    rep, unit = Client(), order.out_units.get().unit.number
    rep.force_login(cast.person("ida", "rep"))
    page = rep.get(reverse("quotes:desk_sign", args=[order.number, unit, "delivery"]))
    paper = rep.get(reverse("quotes:desk_sheet", args=[order.number, unit, "sheet"]))
    pages = pypdf.PdfReader(io.BytesIO(paper.content)).pages
    return text(page.content), " ".join(" ".join(one.extract_text() for one in pages).split())


@pytest.mark.parametrize("parted", [True, False], ids=["transfer switch", "none"])
def test_a_delivery_sheet_carries_the_hook_up_as_its_order_does(
    body: PublicBody, parted: bool
) -> None:
    from tests.quotes.handover import walking

    with time_machine.travel(NOW, tick=False):
        order = walking.ordered()
    need = raised(body, **DETAILS)
    kind = "manual_switch" if parted else "none"
    Need.objects.filter(pk=need.pk).update(request=order.request, transfer_equipment=kind)
    need.refresh_from_db()
    known = hook_up(need)
    facts = [value for row in known.rows for value in row]
    assert known.voltage == "480Y/277 V"
    for sheet in sheet_of(order):
        for said in (*facts, *known.who):
            assert said in sheet, said
        assert (NOBODY in sheet) is not parted


def test_a_sheet_of_a_hire_that_feeds_no_building_has_no_hook_up(frozen: None) -> None:
    from tests.quotes.handover import walking

    for sheet in sheet_of(walking.ordered()):
        assert "Who may connect" not in sheet


@pytest.mark.parametrize(
    ("supply", "compared"), [("480Y/277", True), ("240/120", True), ("120/240", False)]
)
def test_three_phases_are_compared_before_anything_turns(
    body: PublicBody, supply: str, compared: bool
) -> None:
    need = raised(body, supply=supply)
    assert (str(THREE_PHASES) in who_may_connect(need)) is compared
    assert ("Voltage there", f"{supply} V") in hook_up(need).rows


def test_a_voltage_that_is_not_settled_is_still_to_ask(body: PublicBody) -> None:
    found = hook_up(raised(body, supply="unsure"))
    assert ("Voltage there", "not settled") in found.rows
    assert "the voltage" in found.asked
    assert str(THREE_PHASES) not in found.who
