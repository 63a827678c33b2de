"""Fleet and rates for programs of the owner, as the manager they act as."""

from __future__ import annotations

from typing import Any

from django.http import Http404
from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from intake.api.idempotency import idempotent
from intake.api.operations import IDEMPOTENCY, operation
from intake.api.pages import PageQuery, page_of
from intake.api.problems import FieldsRefused, error_item
from intake.api.reading import body_object, fields_read, query_read
from quotes.api import owner_shapes as shapes
from quotes.api.documents import (
    PERCENT_FEES,
    card_document,
    fee_document,
    own_set_document,
    price_document,
    unit_document,
)
from quotes.api.owner_rows import TAG, OwnerView, PatchedRow, ReplacedRow, made, row_calls
from quotes.api.shapes import UNIT_STATES
from quotes.models import Branch, CardFee, Rate, RateCard, SetType, Unit
from quotes.rates.services import card_copy
from quotes.tables.changing import row_add, row_told

NAME = "^[A-Za-z0-9][A-Za-z0-9_-]{0,39}$"


def coded(name: str, about: str) -> OpenApiParameter:
    """A code in an address."""
    return OpenApiParameter(name, str, OpenApiParameter.PATH, description=about, pattern=NAME)


CODE = coded("code", "Code of the set.")
CARD = coded("card", "Code of the rate card.")
ITEM = coded("item", "Code of a set or an accessory.")
NUMBER = coded("number", "Fleet number.")
FEE = OpenApiParameter("fee", str, OpenApiParameter.PATH, enum=shapes.FEE_CODES)


class OwnSets(OwnerView):
    model = SetType

    @operation(
        "List the sets with their records", TAG, {200: shapes.OwnSetPage}, id="list_own_sets",
        query=PageQuery,
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        return Response(page_of(request, SetType.objects.all(), own_set_document))


@row_calls("a set", "own_set", shapes.OwnSet, CODE, more=" with its record")
class OneOwnSet(PatchedRow):
    model, keys, change = SetType, {"code": "code"}, shapes.OwnSetChange

    def told(self, row: Any) -> dict[str, Any]:
        return own_set_document(row)


class UnitQuery(PageQuery):
    branch = serializers.RegexField(NAME, required=False)
    set_code = serializers.RegexField(NAME, required=False)
    state = serializers.ChoiceField(UNIT_STATES, required=False)


class Units(OwnerView):
    model = Unit

    @operation("List the units", TAG, {200: shapes.UnitPage}, id="list_units", query=UnitQuery)
    def get(self, request: Request) -> Response:
        given = query_read(UnitQuery, request)
        paths = {"branch": "branch__code", "set_code": "set_type__code", "state": "state"}
        wanted = {path: given[name] for name, path in paths.items() if name in given}
        rows = Unit.objects.filter(**wanted).select_related("branch", "set_type")
        return Response(page_of(request, rows, unit_document, given))


@row_calls("a unit", "unit", shapes.UnitShape, NUMBER)
class OneUnit(PatchedRow):
    model, keys, change = Unit, {"number": "number"}, shapes.UnitChange

    def told(self, row: Any) -> dict[str, Any]:
        return unit_document(row)

    def wanted(self, asked: dict[str, Any], named: dict[str, str]) -> dict[str, Any]:
        if "branch" in asked:
            asked["branch"] = branch_called(asked["branch"])
        if "engine_hours" in asked:
            asked["engine_hours"] = int(asked["engine_hours"].partition(" ")[0])
        return asked


def branch_called(code: str) -> Branch:
    branch = Branch.objects.filter(code=code).first()
    if branch is None:
        raise FieldsRefused([error_item("branch", "unknown_branch", "There is no such branch.")])
    return branch


class Cards(OwnerView):
    model = RateCard

    @operation(
        "List the rate cards", TAG, {200: shapes.CardPage}, id="list_rate_cards", query=PageQuery
    )
    def get(self, request: Request) -> Response:
        rows = RateCard.objects.select_related("branch")
        return Response(page_of(request, rows, card_document))


@row_calls("a rate card", "rate_card", shapes.CardShape, CARD)
class OneCard(PatchedRow):
    model, keys, change = RateCard, {"card": "code"}, shapes.CardChange

    def told(self, row: Any) -> dict[str, Any]:
        return card_document(row)


class CardCopies(OwnerView):
    model = RateCard

    @operation(
        "Copy a rate card with all its prices", TAG, {201: shapes.CardShape},
        id="copy_rate_card", body=shapes.CardCopyAsked, takes=(CARD, IDEMPOTENCY),
    )  # fmt: skip
    @idempotent
    def post(self, request: Request, card: str) -> Response:
        asked = fields_read(shapes.CardCopyAsked, request)
        copy = card_copy(card=self.one(code=card), valid_from=asked["valid_from"])
        row_told(copy, f"copied from {card}", self.actor, self.now)
        return made(card_document(copy), "rate_card", copy.code)


class Prices(OwnerView):
    model = Rate

    @operation(
        "List the prices of a card", TAG, {200: shapes.PricePage}, id="list_prices",
        query=PageQuery, takes=(CARD,),
    )  # fmt: skip
    def get(self, request: Request, card: str) -> Response:
        return Response(page_of(request, card_called(card).rates.all(), price_document))

    @operation(
        "Add a price to a card", TAG, {201: shapes.PriceShape}, id="add_price",
        body=shapes.NewPrice, takes=(CARD, IDEMPOTENCY),
    )  # fmt: skip
    @idempotent
    def post(self, request: Request, card: str) -> Response:
        asked = fields_read(shapes.NewPrice, request)
        rate = Rate(card=card_called(card), **asked)
        row_add(row=rate, actor=self.actor, now=self.now)
        return made(price_document(self.one(pk=rate.pk)), "price", card, rate.item_code)


def card_called(code: str) -> RateCard:
    card = RateCard.objects.filter(code=code).first()
    if card is None:
        raise Http404
    return card


@row_calls("a price", "price", shapes.PriceShape, CARD, ITEM)
class OnePrice(ReplacedRow):
    model, keys, change = Rate, {"card": "card__code", "item": "item_code"}, shapes.PriceAsked

    def told(self, row: Any) -> dict[str, Any]:
        return price_document(row)


class Fees(OwnerView):
    model = CardFee

    @operation(
        "List the fees of a card", TAG, {200: shapes.FeePage}, id="list_fees",
        query=PageQuery, takes=(CARD,),
    )  # fmt: skip
    def get(self, request: Request, card: str) -> Response:
        return Response(page_of(request, card_called(card).fees.all(), fee_document))


@row_calls("a fee", "fee", shapes.FeeShape, CARD, FEE)
class OneFee(ReplacedRow):
    model, keys, change = CardFee, {"card": "card__code", "fee": "code"}, shapes.FeeAsked

    def told(self, row: Any) -> dict[str, Any]:
        return fee_document(row)

    def wanted(self, asked: dict[str, Any], named: dict[str, str]) -> dict[str, Any]:
        _refuse_unit(named["fee"], str(body_object(self.request)["amount"]))
        return asked


def _refuse_unit(fee: str, amount: str) -> None:
    """A share is no amount of dollars, and the other way round."""
    unit = amount.partition(" ")[2]
    wanted = "%" if fee in PERCENT_FEES else "USD"
    if unit not in ("", wanted):
        sentence = f"{fee} is given in {wanted}."
        raise FieldsRefused([error_item("amount", "wrong_unit", sentence)])
