"""Fleet and rates for programs of the owner, as the manager they act as."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import models, transaction
from django.http import Http404
from django.urls import reverse
from drf_spectacular.utils import OpenApiParameter
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from intake.api.etags import content_tag, tag_seen, tagged
from intake.api.idempotency import idempotent
from intake.api.operations import IDEMPOTENCY, IF_TAG_MATCH, operation
from intake.api.pages import PageQuery, page_of
from intake.api.problems import FieldsRefused, error_item
from intake.api.reading import body_object, fields_read, query_read
from intake.api.view import ApiView
from quotes.api import owner_shapes as shapes
from quotes.api.documents import (
    PERCENT_FEES,
    card_document,
    fee_document,
    own_set_document,
    price_document,
    unit_document,
)
from quotes.api.shapes import UNIT_STATES
from quotes.models import Branch, CardFee, Rate, RateCard, SetType, Unit
from quotes.rates.services import card_copy
from quotes.tables.changing import row_add, row_change, row_told

TAG = "owner"
ACTS = {"GET": "view", "POST": "add"}
NAME = "^[A-Za-z0-9][A-Za-z0-9_-]{0,39}$"
Document = Callable[[Any], dict[str, Any]]


def coded(name: str, about: str) -> OpenApiParameter:
    """A code in an address."""
    return OpenApiParameter(name, str, OpenApiParameter.PATH, description=about, pattern=NAME)


CODE = coded("code", "Code of the set.")
CARD = coded("card", "Code of the rate card.")
ITEM = coded("item", "Code of a set or an accessory.")
NUMBER = coded("number", "Fleet number.")
FEE = OpenApiParameter("fee", str, OpenApiParameter.PATH, enum=shapes.FEE_CODES)


class OwnerView(ApiView):
    """What the views of the owner share: the manager, and the row as the caller saw it."""

    scope = "owner"
    model: type[models.Model]

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        act = ACTS.get(request.method or "", "change")
        may = f"quotes.{act}_{self.model._meta.model_name}"
        if not self.actor.has_perms([may, "quotes.change_ratecard"]):
            raise PermissionDenied

    def one(self, *, lock: bool = False, **key: Any) -> Any:
        rows = self.model._default_manager.filter(**key)
        row = (rows.select_for_update(of=("self",)) if lock else rows).first()
        if row is None:
            raise Http404
        return row

    def changed(self, document: Document, changes: dict[str, Any], **key: Any) -> Response:
        """Change a row if it stands as the caller saw it."""
        row = self.one(lock=True, **key)
        tag_seen(self.request, content_tag(document(row)))
        row_change(row=row, changes=changes, actor=self.actor, now=self.now)
        return shown(document(self.one(**key)))


def shown(document: dict[str, Any], status: int = 200) -> Response:
    return tagged(document, content_tag(document), status)


def made(document: dict[str, Any], name: str, *args: str) -> Response:
    """What was made, and where it is."""
    response = shown(document, 201)
    response.headers["Location"] = reverse(f"api:{name}", args=args)
    return response


class OwnSets(OwnerView):
    model = SetType

    @operation(
        "List the sets with their records", TAG, {200: shapes.OwnSetPage}, id="list_own_sets",
        query=PageQuery,
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        return Response(page_of(request, SetType.objects.all(), own_set_document))


class OneOwnSet(OwnerView):
    model = SetType

    @operation(
        "Read a set with its record", TAG, {200: shapes.OwnSet}, id="read_own_set", takes=(CODE,)
    )
    def get(self, request: Request, code: str) -> Response:
        return shown(own_set_document(self.one(code=code)))

    @operation(
        "Change a set", TAG, {200: shapes.OwnSet}, id="change_own_set",
        body=shapes.OwnSetChange, takes=(CODE, IF_TAG_MATCH),
    )  # fmt: skip
    @transaction.atomic
    def patch(self, request: Request, code: str) -> Response:
        asked = fields_read(shapes.OwnSetChange, request)
        return self.changed(own_set_document, dict(asked), code=code)


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


class OneUnit(OwnerView):
    model = Unit

    @operation("Read a unit", TAG, {200: shapes.UnitShape}, id="read_unit", takes=(NUMBER,))
    def get(self, request: Request, number: str) -> Response:
        return shown(unit_document(self.one(number=number)))

    @operation(
        "Change a unit", TAG, {200: shapes.UnitShape}, id="change_unit",
        body=shapes.UnitChange, takes=(NUMBER, IF_TAG_MATCH),
    )  # fmt: skip
    @transaction.atomic
    def patch(self, request: Request, number: str) -> Response:
        asked = dict(fields_read(shapes.UnitChange, request))
        if "branch" in asked:
            asked["branch"] = branch_called(asked["branch"])
        if "engine_hours" in asked:
            asked["engine_hours"] = int(asked["engine_hours"].partition(" ")[0])
        return self.changed(unit_document, asked, number=number)


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


class OneCard(OwnerView):
    model = RateCard

    @operation("Read a rate card", TAG, {200: shapes.CardShape}, id="read_rate_card", takes=(CARD,))
    def get(self, request: Request, card: str) -> Response:
        return shown(card_document(self.one(code=card)))

    @operation(
        "Change a rate card", TAG, {200: shapes.CardShape}, id="change_rate_card",
        body=shapes.CardChange, takes=(CARD, IF_TAG_MATCH),
    )  # fmt: skip
    @transaction.atomic
    def patch(self, request: Request, card: str) -> Response:
        asked = fields_read(shapes.CardChange, request)
        return self.changed(card_document, dict(asked), code=card)


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


class OnePrice(OwnerView):
    model = Rate

    @operation("Read a price", TAG, {200: shapes.PriceShape}, id="read_price", takes=(CARD, ITEM))
    def get(self, request: Request, card: str, item: str) -> Response:
        return shown(price_document(self.one(card__code=card, item_code=item)))

    @operation(
        "Change a price", TAG, {200: shapes.PriceShape}, id="change_price",
        body=shapes.PriceAsked, takes=(CARD, ITEM, IF_TAG_MATCH),
    )  # fmt: skip
    @transaction.atomic
    def put(self, request: Request, card: str, item: str) -> Response:
        asked = fields_read(shapes.PriceAsked, request)
        return self.changed(price_document, dict(asked), card__code=card, item_code=item)


class Fees(OwnerView):
    model = CardFee

    @operation(
        "List the fees of a card", TAG, {200: shapes.FeePage}, id="list_fees",
        query=PageQuery, takes=(CARD,),
    )  # fmt: skip
    def get(self, request: Request, card: str) -> Response:
        return Response(page_of(request, card_called(card).fees.all(), fee_document))


class OneFee(OwnerView):
    model = CardFee

    @operation("Read a fee", TAG, {200: shapes.FeeShape}, id="read_fee", takes=(CARD, FEE))
    def get(self, request: Request, card: str, fee: str) -> Response:
        return shown(fee_document(self.one(card__code=card, code=fee)))

    @operation(
        "Change a fee", TAG, {200: shapes.FeeShape}, id="change_fee",
        body=shapes.FeeAsked, takes=(CARD, FEE, IF_TAG_MATCH),
    )  # fmt: skip
    @transaction.atomic
    def put(self, request: Request, card: str, fee: str) -> Response:
        asked = fields_read(shapes.FeeAsked, request)
        _refuse_unit(fee, str(body_object(request)["amount"]))
        return self.changed(fee_document, dict(asked), card__code=card, code=fee)


def _refuse_unit(fee: str, amount: str) -> None:
    """A share is no amount of dollars, and the other way round."""
    unit = amount.partition(" ")[2]
    wanted = "%" if fee in PERCENT_FEES else "USD"
    if unit not in ("", wanted):
        sentence = f"{fee} is given in {wanted}."
        raise FieldsRefused([error_item("amount", "wrong_unit", sentence)])
