"""Requests of a client: made, read, answered, sent."""

from __future__ import annotations

from typing import Any

from django.db import transaction
from django.db.models import QuerySet
from django.http import Http404
from django.urls import reverse
from rest_framework.request import Request
from rest_framework.response import Response

from intake.api.documents import RequestRow, load_document, request_document, request_line
from intake.api.etags import etag, version_seen
from intake.api.filling import answers_take, load_fill, load_make
from intake.api.idempotency import idempotent
from intake.api.operations import ID, IDEMPOTENCY, IF_MATCH, REFERENCE, operation
from intake.api.pages import PageQuery, page_of
from intake.api.reading import body_object, fields_read
from intake.api.shapes import requests as shapes
from intake.api.shapes.sizing import SizingResult
from intake.api.view import ApiView
from intake.models import ApiClient, ApiRequest, HireRequest, RequestLoad
from intake.prepared import A_KEY, Prepared
from intake.requests.equipment import load_remove
from intake.requests.services import request_start, request_submit

TAG = "requests"
ANSWERS: dict[str, Any] = {
    "type": "object",
    "maxProperties": 100,
    "additionalProperties": shapes.ANSWER,
    "example": {"supply": "480Y/277", "zip": "80424", "altitude": "9600 ft", "ambient": "unsure"},
}


def requests_of(client: ApiClient | int) -> QuerySet[HireRequest]:
    """The requests a client made; another's does not exist for it."""
    return HireRequest.objects.filter(api_request__client=client)


MADE = Prepared(
    lambda client, reference: requests_of(client).filter(reference=reference),
    A_KEY,
    "a reference",
)


def request_of(client: ApiClient, reference: str, *, lock: bool = False) -> HireRequest:
    """One of the client's requests, locked where it is about to be changed."""
    if lock:
        rows = requests_of(client).select_for_update(of=("self",))
        request = rows.filter(reference=reference).first()
    else:
        request = MADE.first(client.pk, reference)
    if request is None:
        raise Http404
    return request


class RequestView(ApiView):
    """What the views of one request share."""

    scope = "requests"

    def opened(self, reference: str) -> HireRequest:
        """The request about to be changed, if it stands as the caller saw it."""
        found = request_of(self.client, reference, lock=True)
        version_seen(self.request, found.version)
        return found

    def answered(self, request: HireRequest, status: int = 200) -> Response:
        """The request as it stands after a change."""
        return self.shown(HireRequest.objects.get(pk=request.pk), status)

    def shown(self, fresh: HireRequest, status: int = 200) -> Response:
        """The request as it was just read."""
        response = Response(request_document(fresh, now=self.now), status=status)
        response.headers["ETag"] = etag(fresh.version)
        if status == 201:
            response.headers["Location"] = reverse("api:request", args=[fresh.reference])
        return response


class Requests(RequestView):
    @operation("List requests", TAG, {200: shapes.RequestPage}, id="list_requests", query=PageQuery)
    def get(self, request: Request) -> Response:
        rows = requests_of(self.client).values_list(*RequestRow._fields, named=True)
        return Response(page_of(request, rows, request_line))

    @operation(
        "Make a request", TAG, {201: shapes.Request}, id="make_request",
        body=shapes.RequestAsked, takes=(IDEMPOTENCY,),
    )  # fmt: skip
    @idempotent
    def post(self, request: Request) -> Response:
        asked = fields_read(shapes.RequestAsked, request)
        loads = asked.get("loads")
        made, _token = request_start(
            language=asked["language"], now=self.now, application=asked["application"]
        )
        ApiRequest.objects.create(request=made, client=self.client)
        if loads:
            made.loads.all().delete()
            for place, load in enumerate(loads):
                load_make(request=made, asked=load, now=self.now, path=f"loads[{place}]")
        answers_take(request=made, said=asked.get("answers", {}), now=self.now)
        return self.answered(made, 201)


class OneRequest(RequestView):
    @operation("Read a request", TAG, {200: shapes.Request}, id="read_request", takes=(REFERENCE,))
    def get(self, request: Request, reference: str) -> Response:
        return self.shown(request_of(self.client, reference))


class RequestAnswers(RequestView):
    @operation(
        "Answer questions", TAG, {200: shapes.Request}, id="answer",
        body={"application/json": ANSWERS}, takes=(REFERENCE, IF_MATCH), problems=(409,),
    )  # fmt: skip
    @transaction.atomic
    def patch(self, request: Request, reference: str) -> Response:
        found = self.opened(reference)
        answers_take(request=found, said=body_object(request), now=self.now)
        return self.answered(found)


class RequestLoads(RequestView):
    @operation(
        "Add a row of equipment", TAG, {201: shapes.Load}, id="add_load",
        body=shapes.LoadAsked, takes=(REFERENCE, IDEMPOTENCY, IF_MATCH),
    )  # fmt: skip
    @idempotent
    def post(self, request: Request, reference: str) -> Response:
        found = self.opened(reference)
        load = load_make(request=found, asked=fields_read(shapes.LoadAsked, request), now=self.now)
        return with_tag(load, 201)


class OneLoad(RequestView):
    def load_of(self, reference: str, load_id: int) -> tuple[HireRequest, RequestLoad]:
        found = self.opened(reference)
        load = found.loads.filter(pk=load_id).first()
        if load is None:
            raise Http404
        return found, load

    @operation(
        "Change a row of equipment", TAG, {200: shapes.Load}, id="change_load",
        body=shapes.LoadAsked, takes=(REFERENCE, ID, IF_MATCH), problems=(409,),
    )  # fmt: skip
    @transaction.atomic
    def put(self, request: Request, reference: str, id: int) -> Response:
        found, load = self.load_of(reference, id)
        asked = fields_read(shapes.LoadAsked, request)
        load.kind = asked["kind"]
        load.save(update_fields=["kind"])
        load_fill(request=found, load=load, asked=asked, now=self.now)
        return with_tag(load, 200)

    @operation(
        "Take out a row of equipment", TAG, {204: None}, id="remove_load",
        takes=(REFERENCE, ID, IF_MATCH), problems=(409,),
    )  # fmt: skip
    @transaction.atomic
    def delete(self, request: Request, reference: str, id: int) -> Response:
        found, load = self.load_of(reference, id)
        load_remove(request=found, load=load, now=self.now)
        return Response(status=204)


def with_tag(load: RequestLoad, status: int) -> Response:
    """A row of equipment, with the new version of its request."""
    fresh = RequestLoad.objects.select_related("request").get(pk=load.pk)
    response = Response(load_document(fresh), status=status)
    response.headers["ETag"] = etag(fresh.request.version)
    return response


class Submission(RequestView):
    @operation(
        "Send a request", TAG, {200: shapes.Request}, id="submit_request",
        takes=(REFERENCE, IDEMPOTENCY, IF_MATCH), problems=(422,),
    )  # fmt: skip
    @idempotent
    def post(self, request: Request, reference: str) -> Response:
        found = self.opened(reference)
        return self.answered(
            request_submit(request_id=found.pk, version=found.version, now=self.now)
        )


class RequestSizing(RequestView):
    @operation(
        "Read the sizing of a sent request", TAG, {200: SizingResult}, id="read_sizing",
        takes=(REFERENCE,),
    )  # fmt: skip
    def get(self, request: Request, reference: str) -> Response:
        run = request_of(self.client, reference).runs.order_by("-number").first()
        if run is None:
            raise Http404
        return Response(run.result)
