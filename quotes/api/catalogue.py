"""The owner's sets and branches. Rates are not here: a price belongs to a quote."""

from __future__ import annotations

from django.db.models import Count, Q
from rest_framework.request import Request
from rest_framework.response import Response

from intake.api.operations import operation
from intake.api.view import ApiView
from quotes.api import shapes
from quotes.api.documents import branch_document
from quotes.models import Branch, SetType, UnitState


class Sets(ApiView):
    scope = "catalogue"

    @operation("List the sets", "catalogue", {200: shapes.CatalogueSets}, id="list_sets")
    def get(self, request: Request) -> Response:
        here = Count("units", filter=Q(units__state=UnitState.IN_SERVICE))
        types = SetType.objects.filter(offered=True).annotate(count=here)
        items = [
            {
                "code": one.code,
                "name": one.name,
                "prime": {"value": float(one.prime_kw), "unit": "kW"},
                "units": one.count,
            }
            for one in types
        ]
        return Response({"items": items})


class Branches(ApiView):
    scope = "catalogue"

    @operation("List the branches", "catalogue", {200: shapes.Branches}, id="list_branches")
    def get(self, request: Request) -> Response:
        return Response({"items": [branch_document(one) for one in Branch.objects.all()]})
