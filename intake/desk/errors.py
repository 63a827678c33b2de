"""Refusals of the review desk."""

from __future__ import annotations

from intake.requests.errors import ServiceRefusal


class CaseChanged(ServiceRefusal):
    code = "case_changed"
    status_code = 412
    sentence = "Somebody else worked on this case in the meantime. Nothing of yours was saved."


class CaseMoveRefused(ServiceRefusal):
    code = "case_move_refused"
    sentence = "The case does not stand where this can be done. Load the page again."


class ReasonMissing(ServiceRefusal):
    code = "reason_missing"
    status_code = 422
    sentence = "Write why: the customer or the next rep will ask."


class FindingStays(ServiceRefusal):
    code = "finding_stays"
    status_code = 422
    sentence = "This cannot be accepted as it is: correct the answer it rests on."


class NotSettled(ServiceRefusal):
    code = "not_settled"
    status_code = 422
    sentence = "Some findings still need a decision before this can be quoted."


class NothingToQuote(ServiceRefusal):
    code = "nothing_to_quote"
    status_code = 422
    sentence = "No set is chosen yet: choose one, change an answer, or decline."


class SecondPersonNeeded(ServiceRefusal):
    code = "second_person_needed"
    status_code = 409
    sentence = "This needs the eyes of a second person, who may not be the one who settled it."


class ManagerNeeded(ServiceRefusal):
    code = "manager_needed"
    status_code = 409
    sentence = "A check fails for this choice. Only a manager may release it, with a reason."


class NotAllowed(ServiceRefusal):
    code = "not_allowed"
    status_code = 403
    sentence = "Your role does not allow this."


class HeldByAnother(ServiceRefusal):
    code = "held_by_another"
    sentence = "Somebody else has this case. Take it over first."


class NoAddress(ServiceRefusal):
    code = "no_address"
    status_code = 422
    sentence = "The customer gave no email address: call instead, or correct the address first."


class QuestionClosed(ServiceRefusal):
    code = "question_closed"
    sentence = "This question was answered already, or is not needed any more."


class SetNotThere(ServiceRefusal):
    code = "set_not_there"
    status_code = 422
    sentence = "This set is not in the fleet of the branch."


class FormRefused(ServiceRefusal):
    code = "form_refused"
    status_code = 422
    sentence = "Something in the form is missing."


class CodeWrong(ServiceRefusal):
    code = "code_wrong"
    status_code = 422
    sentence = "This is not the code of this minute. Wait for the next one and type it again."
