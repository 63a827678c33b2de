"""The figures of the desk, against cases counted by hand."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from intake.desk.figures import first_time_clear, reasons, waiting
from intake.desk.services.answers import answer_override
from intake.desk.services.deciding import case_release
from intake.desk.subjects import subject_by_key
from intake.models import Case
from intake.questions.answers import Given
from tests.intake.desk import cast

pytestmark = pytest.mark.django_db


def closed(minutes: int, promised: int, reason: str, needless: bool) -> Case:
    start = cast.NOW
    return Case(
        opened_at=start,
        closed_at=start + timedelta(minutes=minutes),
        promised_at=start + timedelta(minutes=promised),
        reason=reason,
        needless=needless,
    )


CLOSED = [
    closed(10, 30, "life_safety", True),
    closed(20, 30, "life_safety", False),
    closed(90, 60, "supply_unsure", False),
    closed(30, 60, "supply_unsure", False),
]


def test_waiting_is_the_median_and_the_kept_promises() -> None:
    rows = dict(waiting(CLOSED).rows)
    assert rows["cases closed"] == "4"
    assert rows["half of them within"] == "25 min"
    assert rows["within the promised time"] == "75 %"


def test_needless_reasons_are_counted_beside_all() -> None:
    rows = {row[0]: row[1:] for row in reasons(CLOSED).rows}
    assert rows["Life safety"] == ("2", "1", "50 %")
    assert rows["Voltage not settled"] == ("2", "0", "0 %")


def test_nothing_closed_is_no_division_by_zero() -> None:
    assert dict(waiting([]).rows) == {"cases closed": "0"}
    assert reasons([]).rows == ()


def test_clear_at_first_is_the_share_without_a_case(manager: User) -> None:
    cast.unsure_voltage()
    cast.sent({**cast.DEWATERING, "supply": "480Y/277"})
    rows = dict(first_time_clear(manager, cast.NOW - timedelta(days=1)).rows)
    assert (rows["clear at first"], rows["share"]) == ("1", "50 %")


def test_a_corrected_case_was_not_needless(case: Case, rep: User) -> None:
    subject = subject_by_key("supply", case.request)
    assert subject is not None
    answer_override(
        case=case, version=case.version, actor=rep, subject=subject, given=Given("480Y/277"),
        reason="Asked.", now=cast.NOW,
    )  # fmt: skip
    case_release(case=case, version=case.version, actor=rep, now=cast.NOW)
    assert Case.objects.get(pk=case.pk).needless is False


def test_the_page_draws_bars_and_shows_the_same_in_a_table(client: Client, manager: User) -> None:
    case = cast.unsure_voltage()
    Case.objects.filter(pk=case.pk).update(closed_at=timezone.now(), state="declined")
    client.force_login(manager)
    page = client.get(reverse("desk:figures"), {"days": "7"})
    assert b"<rect" in page.content
    assert b"Fleet on hire" in page.content
    assert b"Voltage not settled" in page.content
