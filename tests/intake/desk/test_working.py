"""Working a case: claim, correct, settle, ask, release; and what is refused."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from django.contrib.auth.models import User

from intake.desk import errors
from intake.desk.casepage import case_page
from intake.desk.choosing import Choice
from intake.desk.services.answers import answer_confirm, answer_override
from intake.desk.services.asking import question_answered, question_ask, question_phone
from intake.desk.services.choosing import choice_store
from intake.desk.services.deciding import case_decline, case_release
from intake.desk.services.holding import case_claim, case_give_back, case_pass_on, case_snooze
from intake.desk.services.settling import finding_reopen, finding_second, finding_settle
from intake.desk.subjects import Subject, subject_by_key
from intake.models import (
    Answer,
    Case,
    CaseState,
    Event,
    FindingState,
    FourEyesRule,
    OutboxMessage,
    Status,
    Tier,
)
from intake.questions.answers import Given
from tests.intake.desk import cast

pytestmark = pytest.mark.django_db
NOW = cast.NOW + timedelta(minutes=10)


def supply(case: Case) -> Subject:
    subject = subject_by_key("supply", case.request)
    assert subject is not None
    return subject


def settled_voltage(case: Case, rep: User, supply_: str = "480Y/277") -> None:
    answer_override(
        case=case, version=case.version, actor=rep, subject=supply(case), given=Given(supply_),
        reason="Read from the panel on the phone.", now=NOW,
    )  # fmt: skip


# ---- who has it ----------------------------------------------------------------------------


def test_the_second_of_two_reps_is_told_and_nothing_is_overwritten(
    case: Case, rep: User, colleague: User
) -> None:
    seen_by_both = case.version
    theirs = Case.objects.get(pk=case.pk)
    case_claim(case=case, version=seen_by_both, actor=rep, now=NOW)
    with pytest.raises(errors.CaseChanged):
        case_claim(case=theirs, version=seen_by_both, actor=colleague, now=NOW)
    assert Case.objects.get(pk=case.pk).owner == rep


def test_anothers_case_is_not_worked_before_it_is_taken_over(
    case: Case, rep: User, colleague: User
) -> None:
    case_claim(case=case, version=case.version, actor=rep, now=NOW)
    with pytest.raises(errors.HeldByAnother, match="Rosa has this case"):
        settled_voltage(case, colleague)
    case_claim(case=case, version=case.version, actor=colleague, now=NOW)
    assert Event.objects.filter(kind="case_taken_over", data__before="Rosa").count() == 1
    settled_voltage(case, colleague)


def test_acting_on_a_waiting_case_takes_it(case: Case, rep: User) -> None:
    settled_voltage(case, rep)
    fresh = Case.objects.get(pk=case.pk)
    assert (fresh.state, fresh.owner) == (CaseState.CLAIMED, rep)


def test_a_case_is_passed_on_only_to_who_may_work_it(
    case: Case, rep: User, colleague: User, viewer: User
) -> None:
    case_claim(case=case, version=case.version, actor=rep, now=NOW)
    with pytest.raises(errors.NotAllowed):
        case_pass_on(
            case=case, version=case.version, actor=rep, to=viewer, reason="You know them", now=NOW
        )
    case_pass_on(
        case=case, version=case.version, actor=rep, to=colleague, reason="Knows them", now=NOW
    )
    assert Case.objects.get(pk=case.pk).owner == colleague


def test_putting_off_and_giving_back(case: Case, rep: User) -> None:
    case_claim(case=case, version=case.version, actor=rep, now=NOW)
    until = NOW + timedelta(hours=4)
    case_snooze(
        case=case, version=case.version, actor=rep, until=until, reason="They call back", now=NOW
    )
    assert Case.objects.get(pk=case.pk).snoozed_until == until
    case_claim(case=case, version=case.version, actor=rep, now=NOW)
    case_give_back(case=case, version=case.version, actor=rep, now=NOW)
    fresh = Case.objects.get(pk=case.pk)
    assert (fresh.state, fresh.owner) == (CaseState.OPEN, None)


def test_no_reason_no_change(case: Case, rep: User) -> None:
    with pytest.raises(errors.ReasonMissing):
        answer_override(
            case=case, version=case.version, actor=rep, subject=supply(case),
            given=Given("480Y/277"), reason="  ", now=NOW,
        )  # fmt: skip
    assert Answer.objects.get(request=case.request, key="supply").unsure


# ---- answers -------------------------------------------------------------------------------


def test_an_override_sizes_again_at_once_and_settles_what_it_answers(case: Case, rep: User) -> None:
    settled_voltage(case, rep)
    run = case.request.runs.order_by("-number")[0]
    assert (run.number, run.outcome, run.made_by) == (2, "recommended", rep)
    assert run.result["recommendation"]["supply"] == "480Y/277"
    finding = case.findings.get(code="supply_unsure")
    assert (finding.state, finding.settled_by) == (FindingState.CORRECTED, rep)


def test_an_override_keeps_who_why_and_what_was_before(case: Case, rep: User) -> None:
    settled_voltage(case, rep)
    answer = Answer.objects.get(request=case.request, key="supply")
    assert (answer.value, answer.confirmed_by) == ("480Y/277", rep)
    event = Event.objects.get(kind="answer_overridden")
    assert event.data["before"] == "not sure"
    assert "480 volts" in event.data["after"]


def test_the_page_shows_what_the_change_did(case: Case, rep: User) -> None:
    settled_voltage(case, rep, "208Y/120")
    settled_voltage(Case.objects.get(pk=case.pk), rep, "480Y/277")
    page = case_page(Case.objects.get(pk=case.pk), rep, NOW)
    assert ("Supply", "208Y/120", "480Y/277") in [
        (c.label, c.before, c.after) for c in page.changes
    ]


def test_a_wrong_voltage_brings_a_new_finding_that_keeps_the_case(case: Case, rep: User) -> None:
    settled_voltage(case, rep, "120/240")
    fresh = Case.objects.get(pk=case.pk)
    assert fresh.findings.filter(severity="needs_person", state=FindingState.OPEN).exists()
    with pytest.raises(errors.NotSettled):
        case_release(case=fresh, version=fresh.version, actor=rep, now=NOW)


def test_a_load_is_put_right_on_its_row(case: Case, rep: User) -> None:
    load = case.request.loads.get()
    subject = subject_by_key(f"load-{load.pk}-starting", case.request)
    assert subject is not None
    answer_override(
        case=case, version=case.version, actor=rep, subject=subject, given=Given("soft_starter"),
        reason="They have one.", now=NOW,
    )  # fmt: skip
    load.refresh_from_db()
    assert (load.starting, load.confirmed_by) == ("soft_starter", rep)


def test_an_answer_is_confirmed_without_being_changed(case: Case, rep: User) -> None:
    subject = subject_by_key("altitude", case.request)
    assert subject is not None
    answer_confirm(case=case, version=case.version, actor=rep, subject=subject, now=NOW)
    answer = Answer.objects.get(request=case.request, key="altitude")
    assert (answer.value, answer.confirmed_by) == ("1200", rep)


# ---- asking --------------------------------------------------------------------------------


def asked(case: Case, rep: User) -> Any:
    finding = case.findings.get(code="supply_unsure")
    return question_ask(
        case=case, version=case.version, actor=rep, finding=finding, words=finding.question, now=NOW
    )


def test_a_mailed_question_waits_for_the_customer(case: Case, rep: User) -> None:
    question = asked(case, rep)
    assert Case.objects.get(pk=case.pk).state == CaseState.ASKED
    letter = OutboxMessage.objects.get(payload__question_id=question.pk)
    assert letter.payload["letter"] == "question"


def test_the_customers_answer_sizes_again_and_comes_back_to_the_top(case: Case, rep: User) -> None:
    question = asked(case, rep)
    question_answered(question=question, given=Given("480Y/277"), text="", now=NOW)
    fresh = Case.objects.get(pk=case.pk)
    assert (fresh.state, fresh.owner, fresh.tier) == (CaseState.CLAIMED, rep, Tier.ANSWERED)
    assert fresh.request.runs.order_by("-number")[0].outcome == "recommended"


def test_a_question_is_answered_once(case: Case, rep: User) -> None:
    question = asked(case, rep)
    question_answered(question=question, given=Given("480Y/277"), text="", now=NOW)
    question.refresh_from_db()
    question.case = Case.objects.get(pk=case.pk)
    with pytest.raises(errors.QuestionClosed):
        question_answered(question=question, given=Given("208Y/120"), text="", now=NOW)
    assert Answer.objects.get(request=case.request, key="supply").value == "480Y/277"


def test_without_an_address_the_rep_is_told_to_call(case: Case, rep: User) -> None:
    Answer.objects.filter(request=case.request, key="email").delete()
    with pytest.raises(errors.NoAddress):
        asked(case, rep)


def test_a_phone_call_is_kept_with_its_answer(case: Case, rep: User) -> None:
    question_phone(
        case=case, version=case.version, actor=rep, finding=None, words="Which panel?",
        answer="A 480 volt one", now=NOW,
    )  # fmt: skip
    event = Event.objects.get(kind="phone_logged")
    assert event.data["answer"] == "A 480 volt one"


# ---- settling and deciding -----------------------------------------------------------------


def test_an_unsettled_voltage_is_never_accepted(case: Case, rep: User) -> None:
    finding = case.findings.get(code="supply_unsure")
    with pytest.raises(errors.FindingStays):
        finding_settle(
            finding=finding, version=case.version, actor=rep, state="accepted", reason="Probably",
            now=NOW,
        )  # fmt: skip


def accepted(case: Case, rep: User) -> Any:
    finding = case.findings.get(code="life_safety")
    finding_settle(
        finding=finding, version=case.version, actor=rep, state="accepted",
        reason="The fire marshal was on the phone.", now=NOW,
    )  # fmt: skip
    return finding


def test_release_hands_over_to_quoting_and_closes(db: None, rep: User) -> None:
    FourEyesRule.objects.all().delete()
    case = cast.shelter()
    accepted(case, rep)
    case = Case.objects.get(pk=case.pk)
    case_release(case=case, version=case.version, actor=rep, now=NOW)
    case.refresh_from_db()
    assert (case.state, case.needless) == (CaseState.RELEASED, True)
    assert case.request.status == Status.PRICING
    message = OutboxMessage.objects.get(topic="quotes.build_quote")
    assert message.queue == "emergency"
    assert message.payload == {"request_id": case.request_id, "run_number": 1}


def test_nothing_is_released_with_a_question_open(case: Case, rep: User) -> None:
    with pytest.raises(errors.NotSettled, match="Voltage not settled"):
        case_release(case=case, version=case.version, actor=rep, now=NOW)
    assert Case.objects.get(pk=case.pk).state == CaseState.OPEN


def test_life_safety_takes_two_people(db: None, rep: User, senior: User, colleague: User) -> None:
    FourEyesRule.objects.get_or_create(code="life_safety")
    case = cast.shelter()
    finding = accepted(case, rep)
    case = finding.case
    with pytest.raises(errors.SecondPersonNeeded):
        case_release(case=case, version=case.version, actor=rep, now=NOW)
    with pytest.raises(errors.NotAllowed):
        finding_second(finding=finding, version=case.version, actor=colleague, now=NOW)
    finding_second(finding=finding, version=case.version, actor=senior, now=NOW)
    case_release(case=case, version=case.version, actor=rep, now=NOW)
    assert Case.objects.get(pk=case.pk).state == CaseState.RELEASED


def test_nobody_is_the_own_second_person(db: None, senior: User) -> None:
    FourEyesRule.objects.get_or_create(code="life_safety")
    finding = accepted(cast.shelter(), senior)
    with pytest.raises(errors.SecondPersonNeeded):
        finding_second(finding=finding, version=finding.case.version, actor=senior, now=NOW)


def test_a_settlement_can_be_taken_back_with_a_reason(db: None, rep: User) -> None:
    finding = accepted(cast.shelter(), rep)
    finding_reopen(
        finding=finding, version=finding.case.version, actor=rep, reason="New facts", now=NOW
    )
    finding.refresh_from_db()
    assert (finding.state, finding.settled_by) == (FindingState.OPEN, None)


def big_pump() -> Case:
    plate = "40 hp 230/460 V 3 ph 60 Hz 104/52 A code G"
    return Case.objects.get(request=cast.sent(None, cast.pump(nameplate=plate)))


def test_a_set_with_a_failing_check_needs_a_manager(db: None, rep: User, manager: User) -> None:
    case = big_pump()
    settled_voltage(case, rep)
    choice = Choice(sets="T20", reason="They insist.", by="Rosa")
    choice_store(case=case, version=case.version, actor=rep, choice=choice, now=NOW)
    with pytest.raises(errors.ManagerNeeded):
        case_release(case=case, version=case.version, actor=rep, now=NOW)
    case_claim(case=case, version=case.version, actor=manager, now=NOW)
    case_release(case=case, version=case.version, actor=manager, now=NOW)
    run = Case.objects.get(pk=case.pk).closing_run
    assert run is not None
    assert run.result["recommendation"]["sets"][0]["code"] == "T20"


def test_not_even_a_manager_puts_a_set_on_the_wrong_voltage(case: Case, manager: User) -> None:
    settled_voltage(case, manager)
    choice = Choice(sets="T15", reason="It is small.", by="Mara")  # single phase only
    with pytest.raises(errors.SetNotThere):
        choice_store(case=case, version=case.version, actor=manager, choice=choice, now=NOW)


def test_a_choice_outlives_a_changed_answer(case: Case, rep: User) -> None:
    settled_voltage(case, rep)
    choice = Choice(sets="T150", reason="Room for a second pump.", by="Rosa")
    choice_store(case=case, version=case.version, actor=rep, choice=choice, now=NOW)
    settled_voltage(case, rep, "208Y/120")
    result = case.request.runs.order_by("-number")[0].result
    assert result["recommendation"]["sets"][0]["code"] == "T150"
    assert result["recommendation"]["supply"] == "208Y/120"


def test_leaving_out_what_a_rule_asks_for_is_a_failing_check(case: Case, rep: User) -> None:
    settled_voltage(case, rep)
    listed = case.request.runs.order_by("-number")[0].result["recommendation"]["accessories"]
    code = listed[0]["code"]
    choice = Choice(accessories={code: 0}, reason="They own one.", by="Rosa")
    run = choice_store(case=case, version=case.version, actor=rep, choice=choice, now=NOW)
    failing = [c["name"] for c in run.result["recommendation"]["checks"] if not c["passed"]]
    assert f"accessory_{code}" in failing


def test_a_set_that_is_not_there_is_refused(case: Case, rep: User) -> None:
    settled_voltage(case, rep)
    choice = Choice(sets="T9999", reason="They insist.", by="Rosa")
    with pytest.raises(errors.SetNotThere):
        choice_store(case=case, version=case.version, actor=rep, choice=choice, now=NOW)


def test_declining_sends_the_customer_the_words(case: Case, rep: User) -> None:
    words = "We have no set that large; the utility can help."
    case_decline(case=case, version=case.version, actor=rep, words=words, now=NOW)
    case.refresh_from_db()
    assert (case.state, case.customer_words) == (CaseState.DECLINED, words)
    assert case.request.status == Status.DECLINED
    assert OutboxMessage.objects.filter(payload__letter="declined").exists()


def test_a_closed_case_takes_no_more_changes(case: Case, rep: User) -> None:
    case_decline(case=case, version=case.version, actor=rep, words="No.", now=NOW)
    with pytest.raises(errors.CaseMoveRefused):
        settled_voltage(case, rep)
