"""A request that needs a person becomes a case with its reason, its promise and its words."""

from datetime import UTC, datetime, timedelta

import pytest

from intake.desk import promise
from intake.desk.services import case_open
from intake.models import Case, CaseState, FindingState, Tier
from tests.intake.desk import cast

pytestmark = pytest.mark.django_db


def test_an_unsure_voltage_opens_a_case_with_its_question(case: Case) -> None:
    assert (case.state, case.reason) == (CaseState.OPEN, "supply_unsure")
    finding = case.findings.get(code="supply_unsure")
    assert finding.state == FindingState.OPEN
    assert finding.question


def test_a_case_is_found_by_company_reference_and_equipment(case: Case) -> None:
    assert case.headline == "Brook Excavating · A pump"
    for word in ("brook", case.request.reference.lower(), "trash pump", "460"):
        assert word in case.search_text


def test_an_emergency_is_promised_in_half_an_hour_and_comes_first(db: None) -> None:
    case = cast.shelter()
    assert case.urgent
    assert case.tier == Tier.EMERGENCY
    assert case.promised_at == cast.NOW + timedelta(minutes=30)


def test_a_clear_request_opens_no_case(db: None) -> None:
    sent = cast.sent({**cast.DEWATERING, "supply": "480Y/277"})
    assert sent.status == "pricing"
    assert not Case.objects.exists()


def test_opening_twice_keeps_one_case_and_one_promise(case: Case) -> None:
    run = case.request.runs.get()
    again = case_open(request=case.request, run=run, now=cast.NOW + timedelta(hours=1))
    assert (again.pk, again.promised_at) == (case.pk, case.promised_at)


def test_a_closed_case_opens_again_with_a_fresh_promise(case: Case) -> None:
    Case.objects.filter(pk=case.pk).update(state=CaseState.RELEASED, closed_at=cast.NOW)
    later = cast.NOW + timedelta(days=1)
    again = case_open(request=case.request, run=case.request.runs.get(), now=later)
    assert (again.state, again.times_opened, again.closed_at) == (CaseState.OPEN, 2, None)
    assert again.promised_at > later


@pytest.mark.parametrize(
    ("asked", "promised"),
    [  # Denver, in winter seven hours behind; open from 7 to 17 on workdays
        ("2027-03-02 16:00", "2027-03-02 18:00"),  # Tuesday 9:00 -> 11:00
        ("2027-03-02 23:00", "2027-03-03 15:00"),  # Tuesday 16:00 -> Wednesday 8:00
        ("2027-03-03 03:00", "2027-03-03 16:00"),  # Tuesday 20:00 -> Wednesday 9:00
        ("2027-03-06 18:00", "2027-03-08 16:00"),  # Saturday -> Monday 9:00
        ("2027-03-13 18:00", "2027-03-15 15:00"),  # the clock changes on that Sunday
    ],
)
def test_two_business_hours_count_only_while_the_counter_is_open(asked: str, promised: str) -> None:
    now = datetime.fromisoformat(asked).replace(tzinfo=UTC)
    until = datetime.fromisoformat(promised).replace(tzinfo=UTC)
    assert promise.promised_at(now=now, urgent=False) == until
