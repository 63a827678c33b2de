"""The desk for programs: cases read, findings settled, cases released, as the person it acts as."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.http import Http404
from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from intake.api.documents import CaseRow, case_document, case_row_line, question_document
from intake.api.etags import etag, tagged, version_seen
from intake.api.filling import given_checked
from intake.api.idempotency import idempotent
from intake.api.operations import ID, IDEMPOTENCY, IF_MATCH, REFERENCE, operation
from intake.api.pages import PageQuery, page_of
from intake.api.reading import fields_read, query_read
from intake.api.shapes import cases as shapes
from intake.api.view import ApiView
from intake.desk.access import case_of, cases_of
from intake.desk.services.answers import answer_override
from intake.desk.services.asking import question_ask
from intake.desk.services.deciding import case_decline, case_release
from intake.desk.services.holding import case_claim
from intake.desk.services.settling import finding_second, finding_settle
from intake.desk.subjects import subject_by_key
from intake.models import Case, CaseFinding, CaseState

TAG = "cases"
KEY = OpenApiParameter(
    "key", str, OpenApiParameter.PATH, description="Question key, of the request.",
    pattern="^[a-z0-9_.-]{1,60}$",
)  # fmt: skip


class CaseQuery(PageQuery):
    state = serializers.ChoiceField(CaseState.values, required=False)


class CaseView(ApiView):
    """What the views of cases share: the person, and the case as the caller saw it."""

    scope = "cases"

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        needed = ["intake.read_desk"] + (["intake.work_case"] if request.method != "GET" else [])
        if not self.actor.has_perms(needed):
            raise PermissionDenied

    def changed(self, reference: str, act: Callable[[Case, dict[str, Any]], None]) -> Response:
        """Act on the case if it stands as the caller saw it, and show it."""
        case = case_of(self.actor, reference)
        seen = version_seen(self.request, case.version)
        act(case, {"version": seen, "actor": self.actor, "now": self.now})
        return self.shown(reference)

    def shown(self, reference: str) -> Response:
        case = case_of(self.actor, reference)
        response = Response(case_document(case, self.actor))
        response.headers["ETag"] = etag(case.version)
        return response


class Cases(CaseView):
    @operation("List cases", TAG, {200: shapes.CasePage}, id="list_cases", query=CaseQuery)
    def get(self, request: Request) -> Response:
        asked = query_read(CaseQuery, request)
        cases = cases_of(self.actor)
        if state := asked.get("state"):
            cases = cases.filter(state=state)
        rows = cases.values_list(*CaseRow._fields, named=True)
        return Response(page_of(request, rows, case_row_line, asked))


class OneCase(CaseView):
    @operation("Read a case", TAG, {200: shapes.CaseShape}, id="read_case", takes=(REFERENCE,))
    def get(self, request: Request, reference: str) -> Response:
        return self.shown(reference)


class CaseAnswer(CaseView):
    @operation(
        "Put an answer right", TAG, {200: shapes.CaseShape}, id="correct_answer",
        body=shapes.Correction, takes=(REFERENCE, KEY, IF_MATCH), problems=(409,),
    )  # fmt: skip
    @transaction.atomic
    def put(self, request: Request, reference: str, key: str) -> Response:
        asked = fields_read(shapes.Correction, request)
        case = case_of(self.actor, reference)
        subject = subject_by_key(key, case.request)
        if subject is None:
            raise Http404
        given = given_checked(subject.question, asked["value"])

        def correct(case: Case, seen: dict[str, Any]) -> None:
            answer_override(case=case, subject=subject, given=given, reason=asked["reason"], **seen)

        return self.changed(reference, correct)


class FindingSettlement(CaseView):
    @operation(
        "Settle a finding", TAG, {200: shapes.CaseShape}, id="settle_finding",
        body=shapes.Settlement, takes=(REFERENCE, ID, IF_MATCH), problems=(409,),
    )  # fmt: skip
    @transaction.atomic
    def put(self, request: Request, reference: str, id: int) -> Response:
        asked = fields_read(shapes.Settlement, request)

        def settle(case: Case, seen: dict[str, Any]) -> None:
            finding_settle(finding=finding_of(case, id), **asked, **seen)

        return self.changed(reference, settle)


def finding_of(case: Case, pk: int) -> CaseFinding:
    """One finding of a case."""
    found = case.findings.select_related("case__request", "case__owner").filter(pk=pk).first()
    if found is None:
        raise Http404
    return found


class FindingSecond(CaseView):
    @operation(
        "Agree with a settlement as the second person", TAG, {200: shapes.CaseShape},
        id="second_finding", takes=(REFERENCE, ID, IF_MATCH), problems=(409,),
    )  # fmt: skip
    @transaction.atomic
    def put(self, request: Request, reference: str, id: int) -> Response:
        return self.changed(
            reference,
            lambda case, seen: finding_second(finding=finding_of(case, id), **seen),
        )


class CaseOwner(CaseView):
    """Taking a case, so that colleagues see who works on it."""

    @operation(
        "Take a case", TAG, {200: shapes.CaseShape}, id="take_case",
        takes=(REFERENCE, IF_MATCH), problems=(409,),
    )  # fmt: skip
    @transaction.atomic
    def put(self, request: Request, reference: str) -> Response:
        return self.changed(reference, lambda case, seen: case_claim(case=case, **seen))


class CaseQuestions(CaseView):
    @operation(
        "Ask the customer by mail", TAG, {201: shapes.CaseQuestionShape}, id="ask_customer",
        body=shapes.QuestionAsked, takes=(REFERENCE, IDEMPOTENCY, IF_MATCH),
    )  # fmt: skip
    @idempotent
    def post(self, request: Request, reference: str) -> Response:
        asked = fields_read(shapes.QuestionAsked, request)
        case = case_of(self.actor, reference)
        finding = finding_of(case, asked["finding"]) if "finding" in asked else None
        question = question_ask(
            case=case, version=version_seen(request, case.version), actor=self.actor,
            finding=finding, words=asked["words"], now=self.now,
        )  # fmt: skip
        return tagged(question_document(question), etag(case.version), 201)


class CaseRefusal(CaseView):
    @operation(
        "Decline a case, with words for the customer", TAG, {200: shapes.CaseShape},
        id="decline_case", body=shapes.Words, takes=(REFERENCE, IF_MATCH), problems=(409,),
    )  # fmt: skip
    @transaction.atomic
    def put(self, request: Request, reference: str) -> Response:
        words = fields_read(shapes.Words, request)["words"]
        return self.changed(
            reference, lambda case, seen: case_decline(case=case, words=words, **seen)
        )


class CaseRelease(CaseView):
    @operation(
        "Release a case to its quote", TAG, {200: shapes.CaseShape}, id="release_case",
        takes=(REFERENCE, IF_MATCH), problems=(409, 422),
    )  # fmt: skip
    @transaction.atomic
    def put(self, request: Request, reference: str) -> Response:
        return self.changed(reference, lambda case, seen: case_release(case=case, **seen))
