"""The desk's pages: what they show, what they refuse, and that nothing typed is lost."""

from __future__ import annotations

from datetime import timedelta
from io import BytesIO
from typing import Any

import pytest
from bs4 import BeautifulSoup
from django.contrib.auth.models import User
from django.core.files.base import ContentFile
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from intake.desk.queue import Wanted
from intake.desk.services.holding import case_claim
from intake.models import Answer, Case, CaseState, Event, FourEyesRule, RequestPhoto
from tests.intake.desk import cast

pytestmark = pytest.mark.django_db


def url(name: str, case: Case, *more: Any) -> str:
    return reverse(f"desk:{name}", args=[case.request.reference, *more])


def text(response: Any) -> str:
    return " ".join(BeautifulSoup(response.content, "html.parser").get_text(" ").split())


def test_the_queue_names_who_asks_why_and_how_long(as_rep: Client, case: Case) -> None:
    shown = text(as_rep.get(reverse("desk:queue")))
    assert "Brook Excavating" in shown
    assert "Voltage not settled" in shown
    assert case.request.reference in shown


def test_a_refresh_that_changes_nothing_is_empty(as_rep: Client, case: Case) -> None:
    first = as_rep.get(reverse("desk:queue"))
    again = as_rep.get(
        reverse("desk:queue"), {"seen": first.context["digest"]}, headers={"HX-Request": "true"}
    )
    assert again.status_code == 204
    other = as_rep.get(reverse("desk:queue"), {"seen": "old"}, headers={"HX-Request": "true"})
    assert b"<html" not in other.content
    assert b"Brook" in other.content


def test_the_case_page_has_answers_findings_question_sizing_and_record(
    as_rep: Client, case: Case
) -> None:
    shown = text(as_rep.get(url("case", case)))
    for part in ("Trash pump", "Voltage not settled", "not sure", "Record", "970 555 0142"):
        assert part in shown
    assert case.findings.get(code="supply_unsure").question in shown


def test_the_effects_name_a_set_for_each_voltage(as_rep: Client, case: Case) -> None:
    finding = case.findings.get(code="supply_unsure")
    shown = text(as_rep.get(url("effects", case, finding.pk)))
    assert "if 208Y/120" in shown
    assert "if 480Y/277" in shown
    assert "T" in shown


def test_claim_answer_release_in_three_posts(as_rep: Client, case: Case) -> None:
    page = as_rep.get(url("case", case))
    posted = {"version": page.context["case"].version, "seen": page.context["page"].seen}
    as_rep.post(
        url("answer", case, "supply"), {**posted, "supply": "480Y/277", "reason": "On the phone."}
    )
    fresh = Case.objects.get(pk=case.pk)
    assert as_rep.post(url("release", case), {"version": fresh.version}).status_code == 302
    assert Case.objects.get(pk=case.pk).state == CaseState.RELEASED


def test_a_conflict_says_what_happened_and_gives_back_what_was_typed(
    as_rep: Client, case: Case, colleague: User
) -> None:
    page = as_rep.get(url("case", case))
    posted = {"version": page.context["case"].version, "seen": page.context["page"].seen}
    case_claim(case=case, version=case.version, actor=colleague, now=timezone.now())
    refused = as_rep.post(url("decline", case), {**posted, "words": "We cannot, sorry."})
    assert refused.status_code in (409, 412)
    shown = text(refused)
    assert "Cole took the case" in shown
    assert "We cannot, sorry." in shown
    assert Case.objects.get(pk=case.pk).state == CaseState.CLAIMED


def test_a_bad_answer_is_refused_at_its_field_and_kept(as_rep: Client, case: Case) -> None:
    refused = as_rep.post(
        url("answer", case, "altitude"),
        {"version": case.version, "altitude": "very high", "reason": "They said so"},
    )
    assert refused.status_code == 422
    assert b"very high" in refused.content
    assert b"They said so" in refused.content


def test_an_answer_needs_its_reason(as_rep: Client, case: Case) -> None:
    refused = as_rep.post(
        url("answer", case, "altitude"), {"version": case.version, "altitude": "5000 ft"}
    )
    assert refused.status_code == 422
    assert "Write why" in text(refused)


def test_a_typed_value_weighs_more_than_a_tick_left_standing(as_rep: Client, case: Case) -> None:
    Answer.objects.filter(request=case.request, key="altitude").update(value=None, unsure=True)
    posted = {"version": case.version, "altitude__unsure": "1", "reason": "From the map."}
    as_rep.post(url("answer", case, "altitude"), {**posted, "altitude": "5000 ft"})
    answer = Answer.objects.get(request=case.request, key="altitude")
    assert (answer.value, answer.unsure) == ("5000 ft", False)


def test_what_if_stores_nothing(as_rep: Client, case: Case) -> None:
    shown = text(as_rep.get(url("what_if", case), {"supply": "208Y/120", "altitude": "9000 ft"}))
    assert "stored" in shown
    assert case.request.runs.count() == 1
    assert not Event.objects.filter(kind="answer_overridden").exists()


def test_what_if_with_an_unreadable_figure_says_so(as_rep: Client, case: Case) -> None:
    shown = text(as_rep.get(url("what_if", case), {"altitude": "high"}))
    assert "site.altitude" in shown


def test_a_stored_run_computes_to_the_same(as_rep: Client, case: Case) -> None:
    assert "The same result" in text(as_rep.get(url("recompute", case)))


def test_a_run_of_other_tables_says_which(as_rep: Client, case: Case) -> None:
    run = case.request.runs.get()
    run.result["versions"]["tables"] = "an older one"
    run.result["findings"] = []
    run.save()
    shown = text(as_rep.get(url("recompute", case)))
    assert "Not the same result" in shown
    assert "tables: an older one then" in shown


def test_the_worked_sheet_shows_lines_with_sources(as_rep: Client, case: Case) -> None:
    response = as_rep.get(url("sheet", case))
    assert len(response.context["trace"]) > 5


def test_figures_and_record_open_and_export(client: Client, manager: User, case: Case) -> None:
    client.force_login(manager)
    assert "Why cases came" in text(client.get(reverse("desk:figures")))
    exported = b"".join(client.get(reverse("desk:record_csv")).streaming_content).decode()
    assert "The request went to a sales rep" in exported
    assert b"Clear at first" in b"".join(client.get(reverse("desk:figures_csv")).streaming_content)


def test_searching_finds_by_any_word(as_rep: Client, case: Case) -> None:
    assert "Brook" in text(as_rep.get(reverse("desk:queue"), {"q": "brook TRASH"}))
    assert "No case has these words" in text(as_rep.get(reverse("desk:queue"), {"q": "nobody"}))


def test_the_tabs_and_the_next_page_keep_the_filters() -> None:
    wanted = Wanted(tab="mine", q="brook & sons", reason="supply_unsure", urgent=True, after="x")
    kept = "q=brook+%26+sons&reason=supply_unsure&urgent=1"
    assert wanted.address() == f"?tab=mine&{kept}"
    assert wanted.address(tab="desk") == f"?{kept}"
    assert wanted.address(tab="all", after="MXwy") == f"?tab=all&{kept}&after=MXwy"
    assert Wanted().address() == "?"


def test_a_case_put_off_comes_back_by_itself(as_rep: Client, case: Case) -> None:
    Case.objects.filter(pk=case.pk).update(
        state=CaseState.SNOOZED, snoozed_until=timezone.now() + timedelta(hours=1)
    )
    assert "Brook" not in text(as_rep.get(reverse("desk:queue")))
    Case.objects.filter(pk=case.pk).update(snoozed_until=timezone.now() - timedelta(minutes=1))
    assert "time is up" in text(as_rep.get(reverse("desk:queue")))


@pytest.mark.parametrize("bad", ["%%%", "QUJD", "MXwyfHg", "9" * 500, "\x00"])
def test_a_spoilt_address_starts_from_the_top(as_rep: Client, case: Case, bad: str) -> None:
    for name in ("after", "owner", "reason", "tab", "branch", "q"):
        assert as_rep.get(reverse("desk:queue"), {name: bad}).status_code == 200


def photographed(case: Case) -> RequestPhoto:
    drawn = BytesIO()
    Image.new("RGB", (40, 30), "white").save(drawn, "JPEG")
    return RequestPhoto.objects.create(
        request=case.request, load=case.request.loads.get(), width_px=40, height_px=30,
        image=ContentFile(drawn.getvalue(), "plate.jpg"), bytes_kept=len(drawn.getvalue()),
        added_at=timezone.now(),
    )  # fmt: skip


def test_a_photo_stands_with_its_equipment_and_opens_large(as_rep: Client, case: Case) -> None:
    photo = photographed(case)
    look = url("photo_look", case, photo.pk)
    assert as_rep.get(url("case", case)).content.count(f'<a href="{look}"'.encode()) >= 1
    page = BeautifulSoup(as_rep.get(look).content, "html.parser")
    assert page.select_one(".photo-fit img")["src"] == url("photo", case, photo.pk)
    opened = as_rep.get(url("photo", case, photo.pk))
    assert (opened.status_code, opened["Content-Type"]) == (200, "image/jpeg")


@pytest.mark.parametrize(
    ("asked", "shown"), [("double", "double"), ("large", "large"), ("<x>", "fit")]
)
def test_a_photo_is_shown_as_large_as_asked_for(
    as_rep: Client, case: Case, asked: str, shown: str
) -> None:
    look = url("photo_look", case, photographed(case).pk)
    page = BeautifulSoup(as_rep.get(look, {"size": asked}).content, "html.parser")
    frame = page.select_one(f".photo-{shown}")
    assert frame["tabindex"] == "0"  # the arrow keys move what is larger than its frame
    assert page.select_one("[aria-current=true]")["href"] == f"?size={shown}"


def test_beside_a_photo_stands_what_was_typed_and_the_way_to_the_next(
    as_rep: Client, case: Case
) -> None:
    first, second = photographed(case), photographed(case)
    page = as_rep.get(url("photo_look", case, first.pk))
    assert case.request.loads.get().nameplate in text(page)
    assert f'href="{url("photo_look", case, second.pk)}"'.encode() in page.content
    assert "Photo before" not in text(page)


def test_a_photo_of_another_request_does_not_open(as_rep: Client, case: Case) -> None:
    photo = photographed(cast.unsure_voltage())
    for page in ("photo", "photo_look"):
        assert as_rep.get(url(page, case, photo.pk)).status_code == 404


def test_confirming_marks_the_answer_with_the_reps_name(as_rep: Client, case: Case) -> None:
    posted = {"version": case.version}
    assert as_rep.post(url("confirm", case, "altitude"), posted).status_code == 302
    assert "confirmed by Rosa" in text(as_rep.get(url("case", case)))


def test_the_second_person_agrees_on_the_page(client: Client, rep: User, senior: User) -> None:
    FourEyesRule.objects.get_or_create(code="life_safety")
    case = cast.shelter()
    finding = case.findings.get(code="life_safety")
    client.force_login(rep)
    settled = {"version": case.version, "state": "accepted", "reason": "Batteries take over."}
    client.post(url("settle", case, finding.pk), settled)
    assert "waits for a second person" in text(client.get(url("case", case)))
    client.force_login(senior)
    assert "Agree as the second person" in text(client.get(url("case", case)))
    version = Case.objects.get(pk=case.pk).version
    client.post(url("second", case, finding.pk), {"version": version})
    assert "accepted by a rep with a reason by Rosa and Sena" in text(client.get(url("case", case)))
