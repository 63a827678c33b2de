"""Standing sites kept by call: checked by the very forms of the page, for one public body."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from typing import Any

from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from intake.api.documents import moment
from intake.api.problems import FieldsRefused, error_item
from intake.models import Organisation
from quotes.api.need_shapes import need_standing
from quotes.api.site_shapes import FIELDS
from quotes.emergency.sites.fields import FlagField, LengthField
from quotes.emergency.sites.forms import LENGTHS, LoadForm, SiteForm, site_initial
from quotes.emergency.sites.services import site_save
from quotes.emergency.sites.tables import Row
from quotes.models import Need, SiteUpload, StandingSite

Document = dict[str, Any]
Errors = list[dict[str, str]]
TAKEN = "There is a site with this code. Read it, and change it or choose another code."


def site_keep(
    *, organisation: Organisation, site: StandingSite | None, asked: Mapping[str, Any],
    now: datetime,
) -> StandingSite:  # fmt: skip
    """Add a site or change one; every problem is named at once and nothing is kept."""
    on_file = site_initial(site) if site is not None else {}
    form = SiteForm({**on_file, **_typed(asked)})
    errors = _errors(form.errors, "")
    loads, more = _loads(asked["loads"]) if "loads" in asked else (None, [])
    if errors or more:
        raise FieldsRefused([*errors, *more])
    fields = form.values()
    if site is None:
        site = _retired(organisation, fields["key"])
    try:
        with transaction.atomic():
            return site_save(
                organisation=organisation, fields=fields, loads=loads, now=now, site=site,
                version=site.version if site else 0,
            )  # fmt: skip
    except (IntegrityError, ValidationError) as error:
        if isinstance(error, ValidationError) and "__all__" not in error.message_dict:
            raise
        raise FieldsRefused([error_item("key", "taken", TAKEN)]) from error


def _retired(organisation: Organisation, key: str) -> StandingSite | None:
    """A site of that code that was taken off the list comes back, as in a table."""
    rows = StandingSite.objects.select_for_update().filter(organisation=organisation, key=key)
    found = rows.exclude(archived_at=None).first()
    if found is not None:
        found.archived_at = None
    return found


def _typed(asked: Mapping[str, Any]) -> dict[str, str]:
    return {name: typed(value) for name, value in asked.items()}


def typed(value: Any) -> str:
    """A JSON value as somebody would type it into the form."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return value.isoformat() if isinstance(value, date) else str(value)


def _loads(asked: Sequence[Mapping[str, Any]]) -> tuple[list[Document], Errors]:
    forms = [LoadForm(_typed(one)) for one in asked]
    errors = [
        error
        for place, form in enumerate(forms)
        for error in _errors(form.errors, f"loads[{place}].")
    ]
    if errors:
        return [], errors
    return sorted((form.load() for form in forms), key=lambda load: int(load["priority"])), []


def _errors(found: Mapping[str, Any], path: str) -> Errors:
    return [
        error_item(f"{path}{name}", "answer_refused", str(sentence))
        for name, sentences in found.items()
        for sentence in sentences
    ]


def site_document(site: StandingSite) -> Document:
    """A standing site as its body keeps it."""
    return {
        "id": site.pk,
        "version": site.version,
        "body": site.organisation.name,
        **{name: _given(name, getattr(site, LENGTHS.get(name, name))) for name in FIELDS},
        "loads": site.loads,
        "sets": site.sizing.get("sets") or [],
        "person_reasons": site.sizing.get("person") or [],
        "sized_at": moment(site.sized_at),
        "reviewed_on": str(site.reviewed_on),
        "review_due_on": str(site.review_due_on),
    }


def _given(name: str, value: Any) -> Any:
    if value is None or isinstance(FIELDS[name], FlagField) or isinstance(value, int | str):
        return value
    if isinstance(FIELDS[name], LengthField):
        return {"value": float(value), "unit": "m"}
    return str(value) if isinstance(value, date) else float(value)


def need_document(need: Need) -> Document:
    """What is asked for a site, and where it stands."""
    return {
        "id": need.pk,
        "site": need.key,
        "reference": need.request.reference if need.request else None,
        **need_standing(need),
    }


def table_document(upload: SiteUpload, rows: Sequence[Row]) -> Document:
    """A table row by row."""
    wrong = sum(bool(row.problems) for row in rows)
    return {
        "id": upload.pk,
        "table": upload.table,
        "good": len(rows) - wrong,
        "wrong": wrong,
        "rows": [_row_document(row) for row in rows],
        "made_at": moment(upload.made_at),
    }


def _row_document(row: Row) -> Document:
    problems = [{"column": column, "sentence": sentence} for column, sentence in row.all_problems()]
    return {"line": row.line, "key": row.key, "doing": row.doing, "problems": problems}
