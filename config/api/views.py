"""The schema, the page that shows it, and what is not there."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe
from rest_framework.exceptions import NotFound
from rest_framework.request import Request
from rest_framework.views import APIView

from config.api.reading import operations
from config.api.schema import schema
from intake.api.problems import problem_handler


@require_safe
def openapi(web: HttpRequest) -> HttpResponse:
    """The OpenAPI document."""
    return JsonResponse(schema(), content_type="application/json")


@require_safe
def viewer(web: HttpRequest) -> HttpResponse:
    """The same for reading: served from here alone, without a script."""
    return render(web, "api/viewer.html", {"schema": schema(), "groups": operations(schema())})


class Nothing(APIView):
    """Any other address below the API: a problem document, not a page."""

    authentication_classes = ()
    permission_classes = ()
    schema = None

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        raise NotFound("There is nothing at this address.")

    def get_exception_handler(self) -> Any:
        return problem_handler
