"""The customer's page of one question: opened by the mail's link, answered once."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from intake.desk.services.asking import question_ask
from intake.letters.sending import letter_written
from intake.models import Answer, Case, CaseQuestion, CaseState, Tier
from intake.requests.links import link_token
from tests.intake.desk import cast

pytestmark = pytest.mark.django_db
NOW = cast.NOW + timedelta(minutes=5)


@pytest.fixture
def question(case: Case, rep: User) -> CaseQuestion:
    finding = case.findings.get(code="supply_unsure")
    return question_ask(
        case=case, version=case.version, actor=rep, finding=finding, words="Which voltage is it?",
        now=NOW,
    )  # fmt: skip


def opened(client: Client, question: CaseQuestion) -> Any:
    """Follow the link of the mail."""
    request = question.case.request
    token = link_token(request.reference, request.link_generation)
    return client.get(f"/r/{token}/?asked={question.pk}", follow=True)


def address(question: CaseQuestion) -> str:
    return reverse("intake:asked", args=[question.case.request.reference, question.pk])


def test_the_mail_holds_the_words_and_a_link_to_just_this_question(
    question: CaseQuestion,
) -> None:
    letter = letter_written(question.case.request, "question", "ada@example.com", "id", question.pk)
    assert "Which voltage is it?" in letter.body
    assert f"?asked={question.pk}" in letter.body


def test_the_link_opens_the_question_as_the_intake_asks_it(
    client: Client, question: CaseQuestion
) -> None:
    shown = opened(client, question)
    assert shown.redirect_chain[-1][0] == address(question)
    assert b"Which voltage is it?" in shown.content
    assert b'value="480Y/277"' in shown.content


def test_the_answer_brings_the_case_back(client: Client, question: CaseQuestion) -> None:
    opened(client, question)
    thanked = client.post(address(question), {"supply": "480Y/277"}, follow=True)
    assert b"Thank you for your answer" in thanked.content
    case = Case.objects.get(pk=question.case_id)
    assert (case.state, case.tier) == (CaseState.CLAIMED, Tier.ANSWERED)
    assert Answer.objects.get(request=case.request, key="supply").value == "480Y/277"


def test_no_answer_is_asked_for_again(client: Client, question: CaseQuestion) -> None:
    opened(client, question)
    refused = client.post(address(question), {})
    assert refused.status_code == 422
    assert Case.objects.get(pk=question.case_id).state == CaseState.ASKED


def test_not_sure_is_an_answer_too(client: Client, question: CaseQuestion) -> None:
    opened(client, question)
    client.post(address(question), {"supply": "unsure"})
    question.refresh_from_db()
    assert question.answer == "not sure"
    assert Case.objects.get(pk=question.case_id).tier == Tier.ANSWERED


def test_a_second_answer_changes_nothing(client: Client, question: CaseQuestion) -> None:
    opened(client, question)
    client.post(address(question), {"supply": "480Y/277"})
    client.post(address(question), {"supply": "208Y/120"})
    assert Answer.objects.get(request=question.case.request, key="supply").value == "480Y/277"


def test_a_stranger_sees_nothing(client: Client, question: CaseQuestion) -> None:
    assert client.get(address(question)).status_code == 404


def test_another_request_does_not_open_it(client: Client, question: CaseQuestion) -> None:
    other = cast.sent()
    token = link_token(other.reference, other.link_generation)
    there = client.get(f"/r/{token}/?asked={question.pk}", follow=True)
    assert b"Which voltage is it?" not in there.content


def test_a_question_without_a_field_is_answered_in_words(
    client: Client, case: Case, rep: User
) -> None:
    question = question_ask(
        case=case, version=case.version, actor=rep, finding=None, words="Is the gate locked?",
        now=NOW,
    )  # fmt: skip
    opened(client, question)
    client.post(address(question), {"in_words": "Yes, code 1234."})
    question.refresh_from_db()
    assert question.answer == "Yes, code 1234."
