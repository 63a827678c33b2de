"""A standing site and its loads, checked the same way from a page and from a row of a table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import RegexValidator
from django.utils.translation import gettext_lazy as _

from intake.questions.plate_words import plate_sentence
from intake.questions.towns import zip_record
from quotes.emergency.express.forms import callable_number
from quotes.emergency.needs import county_of, position_of
from quotes.emergency.ranks.selectors import kind_name, kinds_in
from quotes.emergency.sites.fields import GROUPS, chosen, line, needed, whole
from quotes.models import StandingSite
from sizing.nameplate import NameplateRefused, read_nameplate
from sizing.requirement import LOAD_KINDS, STARTING_METHODS

LENGTHS = {"altitude": "altitude_m", "lead_length": "lead_length_m"}  # typed with a unit, kept in m
KEY_WRONG = _("Use letters, digits, - _ and . only, and begin with a letter or digit.")


@dataclass(frozen=True, slots=True)
class Section:
    """Fields under one title; the page folds them away unless they want a look."""

    title: Any  # text that is said in the language of the page
    fields: tuple[forms.BoundField, ...]

    @property
    def open(self) -> bool:
        """Whether something in it is wrong, or nothing is typed where something must be."""
        return any(
            bool(one.errors) or (one.field.required and not is_typed(one)) for one in self.fields
        )

    @property
    def filled(self) -> int:
        """How many of its fields say something."""
        return sum(is_typed(one) for one in self.fields)


def is_typed(field: forms.BoundField) -> bool:
    """Whether the page shows something in it."""
    return field.value() not in (None, "")


class SiteForm(forms.Form):
    """Everything that is asked of a site. Errors come all at once, each at its field."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for _title, fields in GROUPS:
            for name, made in fields.items():
                self.fields[name] = made()
        kind = self.fields["facility_kind"]
        assert isinstance(kind, forms.ChoiceField)
        kind.choices = [("", "–"), *((one.code, kind_name(one)) for one in kinds_in())]
        self.fields["key"].validators.append(RegexValidator(r"^[A-Za-z0-9][\w.-]*$", KEY_WRONG))

    def sections(self) -> list[Section]:
        """The fields as the page shows them, under the titles of their groups."""
        return [Section(title, tuple(self[name] for name in fields)) for title, fields in GROUPS]

    def clean_zip(self) -> str:
        """Five digits that exist."""
        digits = "".join(c for c in self.cleaned_data["zip"] if c.isascii() and c.isdigit())[:5]
        if not zip_record(digits):
            raise ValidationError(_("There is no such ZIP code. Use the nearest town's."))
        return digits

    def clean_state(self) -> str:
        """Two letters."""
        text: str = self.cleaned_data["state"].upper()
        if text and not (len(text) == 2 and text.isascii() and text.isalpha()):
            raise ValidationError(_("Give the two letters of the state."))
        return text

    def clean_night_phone(self) -> str:
        """A number that can be called from elsewhere."""
        text: str = self.cleaned_data["night_phone"]
        if not callable_number(text):
            raise ValidationError(_("Enter a phone number with its area code, like 970 555 0142."))
        return text

    def clean(self) -> dict[str, Any]:
        """What the ZIP code says stands in for what was left empty."""
        data: dict[str, Any] = super().clean() or {}
        if (data.get("latitude") is None) != (data.get("longitude") is None):
            self.add_error("longitude", _("Give latitude and longitude, or neither."))
        record = zip_record(data.get("zip", ""))
        if record:
            data["state"] = data.get("state") or record["state"]
            data["county"] = data.get("county") or county_of(data["zip"])
            if data.get("latitude") is None:
                data["latitude"], data["longitude"] = position_of(data["zip"])
        data["connection"] = data.get("connection") or "unsure"
        return data

    def values(self) -> dict[str, Any]:
        """The checked fields under the names they are stored by."""
        return {LENGTHS.get(name, name): value for name, value in self.cleaned_data.items()}


def site_initial(site: StandingSite) -> dict[str, Any]:
    """A stored site as the form shows it."""
    found: dict[str, Any] = {}
    for _title, fields in GROUPS:
        for name in fields:
            found[name] = _shown(name, getattr(site, LENGTHS.get(name, name)))
    return found


def _shown(name: str, value: Any) -> Any:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value} m" if name in LENGTHS else value


class LoadForm(forms.Form):
    """One load of a site. A row that is empty throughout is left out."""

    priority = whole(
        _("Priority"), 1, 99, _("Enter a whole number from 1."), _("1 is never left out.")
    )
    name = line(_("Equipment"), longest=120)
    kind = chosen(_("Kind"), [("", "–"), *((kind, kind) for kind in LOAD_KINDS)])
    quantity = whole(_("Pieces"), 1, 500, _("Enter how many there are, 1 to 500."))
    nameplate = line(
        _("Nameplate"), _("As it is printed, like 25 hp 460 V 3 ph code G."), longest=500
    )
    starting = chosen(_("Started"), [("", "–"), *((method, method) for method in STARTING_METHODS)])

    def clean_nameplate(self) -> str:
        """A plate that the method can read."""
        text: str = self.cleaned_data["nameplate"]
        try:
            read_nameplate(text)
        except NameplateRefused as refusal:
            raise ValidationError([plate_sentence(p, text) for p in refusal.problems]) from None
        return text

    @property
    def empty(self) -> bool:
        """Nothing was filled in."""
        return not any(value not in (None, "") for value in self.cleaned_data.values())

    def clean(self) -> dict[str, Any]:
        """A load needs its name."""
        data: dict[str, Any] = super().clean() or {}
        filled = any(value not in (None, "") for value in data.values())
        if filled and not data.get("name") and "name" not in self.errors:
            self.add_error("name", _("Say what the equipment is."))
        return data

    def load(self) -> dict[str, Any]:
        """The load as a requirement writes it, with its priority."""
        data = self.cleaned_data
        load: dict[str, Any] = {
            "name": data["name"],
            "kind": data["kind"] or "other",
            "quantity": data["quantity"] or 1,
            "nameplate": data["nameplate"] or "unsure",
            "priority": data["priority"] or 1,
        }
        if data["starting"]:
            load["starting"] = data["starting"]
        return load


class LoadRowForm(LoadForm):
    """A load as a row of a table, with the code of its site."""

    key = needed(_("Code"), _("Give the code of the site."), longest=40)


LOAD_COLUMNS = ("key", "priority", "name", "kind", "quantity", "nameplate", "starting")
LoadFormSet = forms.formset_factory(LoadForm, extra=3, max_num=40, absolute_max=40)


@dataclass(frozen=True, slots=True)
class LoadPart:
    """A row of the loads as the page folds it: open where it is wrong, or the next to fill in."""

    form: Any
    typed: bool
    open: bool

    @property
    def name(self) -> str:
        """What the equipment is called, as typed."""
        return str(self.form["name"].value() or "")


def load_parts(rows: Any) -> list[LoadPart]:
    """The rows of the loads; of those that say nothing only the first is open."""
    typed = [any(is_typed(field) for field in row) for row in rows]
    fresh = typed.index(False) if False in typed else -1
    return [LoadPart(row, typed[n], bool(row.errors) or n == fresh) for n, row in enumerate(rows)]


def load_initial(loads: Sequence[Mapping[str, Any]]) -> list[dict[str, Any]]:
    """Stored loads as the form shows them."""
    return [
        {**load, "nameplate": "" if load["nameplate"] == "unsure" else load["nameplate"]}
        for load in loads
    ]


def loads_of_forms(rows: Any) -> list[dict[str, Any]]:
    """The filled rows, the first priority first."""
    filled = [row.load() for row in rows if not row.empty]
    return sorted(filled, key=lambda load: load["priority"])
