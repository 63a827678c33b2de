"""Shapes of the owner's fleet and rates: amounts are texts, given back as value and unit."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from rest_framework import serializers

from quotes.api.shapes import UNIT_STATES, Kilowatts, Money
from quotes.pricing.terms import FeeCode

Shape = serializers.Serializer[Any]
FEE_CODES = [str(code) for code in FeeCode]
AMOUNT = r"^[0-9]{1,7}(\.[0-9]{1,2})?( USD)?$"
SHARE = r"^[0-9]{1,7}(\.[0-9]{1,2})?( USD| %)?$"


class AmountText(serializers.RegexField):
    """An amount as text, with or without its unit, as an exact decimal."""

    def __init__(self, regex: str = AMOUNT, **more: Any) -> None:
        more.setdefault("help_text", "`640.00` or `640.00 USD`")
        super().__init__(regex, **more)

    def to_internal_value(self, data: Any) -> Any:
        self.run_validators(text := super().to_internal_value(data))
        return Decimal(text.partition(" ")[0])

    def run_validators(self, value: Any) -> None:
        if isinstance(value, str):
            super().run_validators(value)


class Hours(Shape):
    value = serializers.IntegerField()
    unit = serializers.CharField(help_text="`h`")


class UnitShape(Shape):
    number = serializers.CharField()
    set_code = serializers.CharField()
    branch = serializers.CharField()
    state = serializers.ChoiceField(UNIT_STATES)
    engine_hours = Hours()
    note = serializers.CharField()


class UnitPage(Shape):
    items = UnitShape(many=True)
    next_cursor = serializers.CharField(allow_null=True)


class UnitChange(Shape):
    branch = serializers.CharField(max_length=20, required=False, help_text="Code of the branch.")
    state = serializers.ChoiceField(UNIT_STATES, required=False)
    engine_hours = serializers.RegexField(
        r"^[0-9]{1,6}( h)?$", required=False, help_text="`1200 h`"
    )
    note = serializers.CharField(max_length=300, required=False, allow_blank=True)


class OwnSet(Shape):
    code = serializers.CharField()
    name = serializers.CharField()
    prime = Kilowatts()
    offered = serializers.BooleanField()
    record = serializers.DictField(
        child=serializers.CharField(allow_blank=True),
        help_text="Its row of the fleet file, column name to text.",
    )


class OwnSetPage(Shape):
    items = OwnSet(many=True)
    next_cursor = serializers.CharField(allow_null=True)


class OwnSetChange(Shape):
    offered = serializers.BooleanField(required=False)
    record = serializers.DictField(
        child=serializers.CharField(allow_blank=True, max_length=500),
        required=False,
        help_text="The whole row; the method reads it and names every problem.",
    )


class CardShape(Shape):
    code = serializers.CharField()
    name = serializers.CharField()
    branch = serializers.CharField(help_text="Empty for every branch that has none of its own.")
    valid_from = serializers.DateField()
    valid_until = serializers.DateField(allow_null=True)
    in_use = serializers.BooleanField()
    minimum_days = serializers.IntegerField()
    valid_days = serializers.IntegerField(help_text="Days an offer stays open.")
    adjustment_limit_percent = serializers.CharField()
    terms_version = serializers.CharField()


class CardPage(Shape):
    items = CardShape(many=True)
    next_cursor = serializers.CharField(allow_null=True)


class CardChange(Shape):
    name = serializers.CharField(min_length=1, max_length=120, required=False)
    valid_until = serializers.DateField(allow_null=True, required=False)
    in_use = serializers.BooleanField(required=False)
    minimum_days = serializers.IntegerField(min_value=1, max_value=60, required=False)
    valid_days = serializers.IntegerField(min_value=1, max_value=180, required=False)


class CardCopyAsked(Shape):
    valid_from = serializers.DateField(help_text="The copy is not in use until you say so.")


class PriceShape(Shape):
    item_code = serializers.CharField(help_text="Code of a set or an accessory.")
    day = Money()
    week = Money()
    four_weeks = Money()
    once = Money(allow_null=True, help_text="Where it is sold, not hired.")


class PricePage(Shape):
    items = PriceShape(many=True)
    next_cursor = serializers.CharField(allow_null=True)


class PriceAsked(Shape):
    day = AmountText()
    week = AmountText()
    four_weeks = AmountText()
    once = AmountText(required=False, allow_null=True, default=None)


class NewPrice(PriceAsked):
    item_code = serializers.RegexField(r"^[A-Za-z0-9][A-Za-z0-9_-]{0,39}$")


class Figure(Shape):
    value = serializers.CharField()
    unit = serializers.CharField(help_text="`USD`, or `%` for a share.")


class FeeShape(Shape):
    code = serializers.ChoiceField(FEE_CODES)
    amount = Figure()
    quantity = serializers.CharField()
    minimum = Money(allow_null=True)
    cap = Money(allow_null=True)


class FeePage(Shape):
    items = FeeShape(many=True)
    next_cursor = serializers.CharField(allow_null=True)


class FeeAsked(Shape):
    amount = AmountText(SHARE, help_text="`45.00 USD`, or `12 %` for a share.")
    minimum = AmountText(required=False, allow_null=True, default=None)
    cap = AmountText(required=False, allow_null=True, default=None)
