"""Sending: once, whole, and to the right place."""

from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connections
from django.utils import timezone

from intake.models import Case, HireRequest, OutboxMessage, SizingRun, Status
from intake.requests.errors import AnswerRefused, VersionConflict
from intake.requests.services import request_submit
from tests.intake.visitor import Visitor


def filled(**changed: dict[str, str]) -> tuple[Visitor, HireRequest]:
    customer = Visitor()
    customer.fill(**changed)
    return customer, HireRequest.objects.get(reference=customer.reference)


def topics() -> list[str]:
    return sorted(OutboxMessage.objects.values_list("topic", flat=True))


@pytest.mark.django_db
def test_a_clear_request_goes_to_pricing(demo_fleet: None) -> None:
    customer, request = filled()
    customer.send()
    request.refresh_from_db()
    assert request.status == Status.PRICING
    assert request.submitted_at is not None
    assert topics() == ["quotes.build_quote"]
    assert OutboxMessage.objects.get().payload == {"request_id": request.pk, "run_number": 1}


@pytest.mark.django_db
def test_an_unsure_voltage_goes_to_a_person_with_a_question(demo_fleet: None) -> None:
    customer, request = filled(voltage={"supply": "unsure"})
    customer.send()
    request.refresh_from_db()
    assert request.status == Status.IN_REVIEW
    assert topics() == ["intake.mail_customer"]
    case = Case.objects.get(request=request)
    asked = {f.code: f.question for f in case.findings.all()}
    assert asked["supply_unsure"].endswith("?")


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("step", "answers", "code"),
    [
        ("dates", {"hire_start__unsure": "1", "hire_end__unsure": "1",
                   "hours_per_day": "24", "refuel_every": "24"}, "dates_unsure"),
        ("site", {"zip__unsure": "1", "altitude": "9600", "ambient": "90",
                  "delivery": "deliver"}, "place_unsure"),
    ],
)  # fmt: skip
def test_what_cannot_be_priced_goes_to_a_person(step, answers, code, demo_fleet) -> None:
    customer, request = filled(**{step: answers})
    customer.send()
    run = SizingRun.objects.get(request=request)
    assert run.outcome == "needs_person"
    assert code in {f["code"] for f in run.result["findings"]}


@pytest.mark.django_db
def test_sending_twice_sends_once(demo_fleet: None) -> None:
    customer, request = filled()
    first, second = customer.send(), customer.client.post(customer.at("check/"), {"version": "1"})
    assert first.status_code == second.status_code == 302
    assert SizingRun.objects.filter(request=request).count() == 1
    assert len(topics()) == 1


@pytest.mark.django_db(transaction=True)
def test_many_presses_at_once_send_once(demo_fleet: None) -> None:
    _customer, request = filled()
    request.refresh_from_db()

    def press(_n: int) -> str:
        try:
            return request_submit(
                request_id=request.pk, version=request.version, now=timezone.now()
            ).status
        finally:
            connections.close_all()

    with ThreadPoolExecutor(6) as threads:
        outcomes = set(threads.map(press, range(6)))
    assert outcomes == {Status.PRICING}
    assert SizingRun.objects.filter(request=request).count() == 1
    assert len(topics()) == 1


@pytest.mark.django_db
def test_answers_changed_since_the_check_page_are_not_sent_unseen(demo_fleet: None) -> None:
    _customer, request = filled()
    with pytest.raises(VersionConflict):
        request_submit(request_id=request.pk, version=request.version - 1, now=timezone.now())
    assert SizingRun.objects.count() == 0


@pytest.mark.django_db
def test_an_incomplete_request_is_not_sent(customer: Visitor) -> None:
    request = HireRequest.objects.get(reference=customer.reference)
    with pytest.raises(AnswerRefused) as refusal:
        request_submit(request_id=request.pk, version=request.version, now=timezone.now())
    assert list(refusal.value.problems) == ["equipment"]


@pytest.mark.django_db
def test_an_all_unsure_intake_reaches_a_person(demo_fleet: None) -> None:
    from intake.questions.question import Kind
    from intake.steps.catalogue import STEP_BY_KEY
    from tests.intake.visitor import STEPS

    customer = Visitor()
    customer.start()
    customer.post(
        customer.load_page(),
        {"nameplate__unsure": "1", "quantity": "1", "float_switch": "unsure",
         "starting": "unsure", "name": "Pump"},
    )  # fmt: skip
    for key, answers in STEPS.items():
        unsure = {
            q.key if q.kind is Kind.CHOICE else f"{q.key}__unsure": "unsure"
            for q in STEP_BY_KEY[key].questions
            if q.not_sure
        }
        response = customer.post(f"{key}/", answers if key == "contact" else unsure)
        assert response.status_code == 302
    assert customer.send().status_code == 302
    request = HireRequest.objects.get(reference=customer.reference)
    assert request.status == Status.IN_REVIEW
    codes = set(Case.objects.get(request=request).findings.values_list("code", flat=True))
    assert {"supply_unsure", "dates_unsure", "place_unsure"} <= codes
