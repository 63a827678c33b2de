"""Shapes of standing sites: made of the very fields that the page and the table ask."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django import forms
from django.utils import translation
from rest_framework import serializers

from intake.api.shapes import Shape
from quotes.api.need_shapes import NeedStanding
from quotes.emergency.sites.fields import GROUPS, FlagField, LengthField
from quotes.emergency.sites.views import HOURS
from quotes.models import NeedState
from sizing.requirement import LOAD_KINDS, STARTING_METHODS

FIELDS: dict[str, forms.Field] = {
    name: made() for _title, group in GROUPS for name, made in group.items()
}
NEEDED = tuple(name for name, field in FIELDS.items() if field.required)
MOST_LOADS = 40
LARGEST_FILE = 2_000_000
NEED_STATES = NeedState.values
TABLES = ["sites", "loads"]
DOINGS = ["added", "changed", "same", ""]
AnyField = serializers.Field[Any, Any, Any, Any]
NUMBERS: dict[bool, tuple[Any, Any]] = {  # Django's decimals are integers by descent
    True: (serializers.FloatField, float),
    False: (serializers.IntegerField, int),
}
SITE_LOAD_KINDS = list(LOAD_KINDS)


def asked_field(field: forms.Field, *, needed: bool) -> AnyField:
    """A field of the form as a call sends it; what may stay empty may be left out."""
    more: dict[str, Any] = {"required": needed, "help_text": about(field)}
    empty = {**more, "allow_null": not field.required}
    if isinstance(field, FlagField):
        return serializers.BooleanField(**more)
    if isinstance(field, LengthField):
        return serializers.CharField(max_length=20, allow_blank=True, **more)
    if isinstance(field, forms.IntegerField):
        number, plain = NUMBERS[isinstance(field, forms.DecimalField)]
        bounds = {"min_value": plain(field.min_value), "max_value": plain(field.max_value)}
        made: AnyField = number(**bounds, **empty)
        return made
    if isinstance(field, forms.DateField):
        return serializers.DateField(**empty)
    return asked_text(field, more)


def asked_text(field: forms.Field, more: dict[str, Any]) -> AnyField:
    """A text, or one of the known answers."""
    known = [value for value, _label in getattr(field, "choices", ()) if value]
    if known:
        return serializers.ChoiceField(known, allow_blank=not field.required, **more)
    longest = getattr(field, "max_length", None) or 40
    if field.required:
        return serializers.CharField(min_length=1, max_length=longest, **more)
    return serializers.CharField(max_length=longest, allow_blank=True, **more)


def about(field: forms.Field) -> str:
    """What the page says at the field, in English: the document has one language."""
    with translation.override("en"):
        said = [str(field.label), str(field.help_text)]
    return ". ".join(part.rstrip(".") for part in said if part)


def given_field(field: forms.Field) -> AnyField:
    """The same as an answer gives it."""
    if isinstance(field, FlagField):
        return serializers.BooleanField()
    if isinstance(field, LengthField):
        return Length(allow_null=True)
    if isinstance(field, forms.IntegerField):
        number, _plain = NUMBERS[isinstance(field, forms.DecimalField)]
        made: AnyField = number(allow_null=True)
        return made
    if isinstance(field, forms.DateField):
        return serializers.DateField(allow_null=True)
    return serializers.CharField()


def shaped(name: str, base: type[Shape], fields: Mapping[str, Any], doc: str) -> type[Shape]:
    """A shape with these fields before those of its base."""
    return type(name, (base,), {**fields, "__doc__": doc, "__module__": __name__})


class Length(Shape):
    value = serializers.FloatField()
    unit = serializers.CharField(help_text="`m`")


class SiteLoad(Shape):
    """A load of a site; those of priority 1 are never left out."""

    name = serializers.CharField(min_length=1, max_length=120)
    kind = serializers.ChoiceField(SITE_LOAD_KINDS, required=False)
    quantity = serializers.IntegerField(min_value=1, max_value=500, required=False)
    nameplate = serializers.CharField(
        max_length=500, required=False, help_text="As printed: `25 hp 460 V 3 ph code G`."
    )
    starting = serializers.ChoiceField(list(STARTING_METHODS), required=False)
    priority = serializers.IntegerField(min_value=1, max_value=99, required=False)


class WithLoads(Shape):
    loads = serializers.ListField(
        child=SiteLoad(), required=False, max_length=MOST_LOADS,
        help_text="All of them: they take the place of those on file.",
    )  # fmt: skip


class SiteKept(Shape):
    id = serializers.IntegerField(min_value=1)
    version = serializers.IntegerField(help_text="Also the ETag; send it as If-Match.")
    body = serializers.CharField(help_text="The public body it belongs to.")
    loads = serializers.ListField(child=serializers.DictField())
    sets = serializers.ListField(
        child=serializers.DictField(), help_text="What would be sent; empty while it is sized."
    )
    person_reasons = serializers.ListField(
        child=serializers.CharField(), help_text="Why a person must look before a set is sent."
    )
    sized_at = serializers.DateTimeField(allow_null=True)
    reviewed_on = serializers.DateField()
    review_due_on = serializers.DateField()


SiteAsked = shaped(
    "SiteAsked", WithLoads,
    {name: asked_field(field, needed=name in NEEDED) for name, field in FIELDS.items()},
    "A site as its body describes it. A length is a text with its unit: `75 ft`.",
)  # fmt: skip
SiteChange = shaped(
    "SiteChange", WithLoads,
    {name: asked_field(field, needed=False) for name, field in FIELDS.items()},
    "Fields to change; what is left out stays.",
)  # fmt: skip
Site = shaped(
    "Site", SiteKept, {name: given_field(field) for name, field in FIELDS.items()},
    "A standing site as it is on file.",
)  # fmt: skip


class SitePage(Shape):
    items = Site(many=True)
    next_cursor = serializers.CharField(allow_null=True)


class TableAsked(Shape):
    """A CSV file with the columns of the template, of sites or of their loads."""

    csv = serializers.CharField(
        min_length=1, max_length=LARGEST_FILE, trim_whitespace=False, help_text="The file's text."
    )
    file_name = serializers.CharField(max_length=200, required=False, default="by API")


class TableProblem(Shape):
    column = serializers.CharField()
    sentence = serializers.CharField()


class TableRow(Shape):
    line = serializers.IntegerField(help_text="Of the file, the first being 1.")
    key = serializers.CharField()
    doing = serializers.ChoiceField(DOINGS, help_text="What it would do; empty with problems.")
    problems = TableProblem(many=True)


class Table(Shape):
    """The dry run: each row that is not in yet, and what bringing it in would do."""

    id = serializers.IntegerField(min_value=1)
    table = serializers.ChoiceField(TABLES)
    good = serializers.IntegerField(help_text="Rows that would go in.")
    wrong = serializers.IntegerField(help_text="Rows to put right.")
    rows = TableRow(many=True)
    made_at = serializers.DateTimeField()


class TableTaken(Table):
    taken = serializers.IntegerField(help_text="Rows that went in; `rows` are those left.")


class NeedsAsked(Shape):
    sites = serializers.ListField(
        child=serializers.CharField(min_length=1, max_length=40), min_length=1, max_length=500,
        help_text="`key` of each site that needs power.",
    )  # fmt: skip
    need_in = serializers.ChoiceField(
        [value for value, _label in HOURS], help_text="Within so many hours."
    )


class SiteNeed(NeedStanding):
    id = serializers.IntegerField(min_value=1)
    site = serializers.CharField(help_text="`key` of the site.")
    reference = serializers.CharField(
        allow_null=True, help_text="Of the request, where a person must look at it."
    )
    state = serializers.ChoiceField(NEED_STATES)


class SiteNeeds(Shape):
    items = SiteNeed(many=True)


class SiteNeedPage(SiteNeeds):
    next_cursor = serializers.CharField(allow_null=True)
