"""Pages of an upload: sent, shown row by row, put right, brought in; and the templates."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_http_methods, require_safe

from quotes.acceptance.views import Problem, problems_of
from quotes.emergency.organisations.access import for_public_body
from quotes.emergency.ranks.selectors import kind_name, kinds_in
from quotes.emergency.sites.files import MOST_BYTES, FileRefused, csv_text, workbook_bytes
from quotes.emergency.sites.forms import LOAD_COLUMNS, LoadForm, SiteForm
from quotes.emergency.sites.tables import (
    COLUMNS_OF,
    Row,
    upload_correct,
    upload_read,
    upload_take,
    uploads_keep,
)
from quotes.models import PublicBody, SiteUpload

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
MOST_SHOWN = 200


class UploadForm(forms.Form):
    """A file with sites, or with loads of sites."""

    table = forms.FileField(
        label=_("File, CSV or XLSX"),
        error_messages={
            "required": _("Choose the file."),
            "empty": _("The file is empty. Fill in the template and send it."),
        },
    )


@require_http_methods(["GET", "HEAD", "POST"])
@for_public_body
def upload_new(web: HttpRequest, body: PublicBody) -> HttpResponse:
    """Send a file. It is kept and shown; nothing is changed by it yet."""
    form = UploadForm(web.POST, web.FILES) if web.method == "POST" else UploadForm()
    if form.is_bound and form.is_valid():
        file = form.cleaned_data["table"]
        try:
            upload, *_more = uploads_keep(
                organisation=body.organisation,
                file_name=file.name,
                data=file.read(MOST_BYTES + 1),
                now=timezone.now(),
            )
            return redirect("quotes:site_upload_page", upload.pk)
        except FileRefused as refusal:
            form.add_error("table", str(refusal))
    context = {
        "body": body,
        "form": form,
        "uploads": uploads_open(body),
        "problems": problems_of(form) if form.is_bound else [],
    }
    status = 422 if form.is_bound else 200
    return render(web, "quotes/emergency/sites/upload.html", context, status=status)


def uploads_open(body: PublicBody) -> list[SiteUpload]:
    """Uploads with rows that are not in yet."""
    found = SiteUpload.objects.filter(organisation=body.organisation, taken_at=None)
    return list(found.exclude(rows=[])[:20])


def upload_of(body: PublicBody, upload_id: int) -> SiteUpload:
    """One of the body's own uploads."""
    return get_object_or_404(SiteUpload, pk=upload_id, organisation=body.organisation)


@require_http_methods(["GET", "HEAD", "POST"])
@for_public_body
def upload_page(web: HttpRequest, body: PublicBody, upload_id: int) -> HttpResponse:
    """The dry run; cells put right on the page; and the press that brings the good rows in."""
    upload = upload_of(body, upload_id)
    taken = None
    if web.method == "POST":
        upload = upload_correct(upload=upload, cells=_cells(web))
        if "take" in web.POST:
            taken = upload_take(upload=upload, now=timezone.now())
            upload.refresh_from_db()
    rows = upload_read(upload)
    if taken is not None and not rows:
        return redirect("quotes:site_upload" if uploads_open(body) else "quotes:sites")
    wrong = [row for row in rows if row.problems]
    context = {
        "body": body,
        "upload": upload,
        "taken": taken,
        "good": [row for row in rows if not row.problems][:MOST_SHOWN],
        "good_count": len(rows) - len(wrong),
        "wrong": [_shown(row) for row in wrong[:MOST_SHOWN]],
        "wrong_count": len(wrong),
        "problems": [
            Problem(f"row-{row.line}-{column}", _said(row.line, column, sentence))
            for row in wrong[:20]
            for column, sentence in row.all_problems()
        ],
    }
    return render(web, "quotes/emergency/sites/upload_page.html", context)


def _said(line: int, column: str, problem: str) -> str:
    said = _("Line {line}, {column}: {problem}")
    return str(said).format(line=line, column=column, problem=problem)


def _shown(row: Row) -> dict[str, Any]:
    """A row with a field for each cell that is wrong, and what to do about it."""
    return {
        "line": row.line,
        "key": row.key,
        "name": row.cells.get("name", ""),
        "cells": [
            {"column": column, "value": row.cells.get(column, ""), "problems": found}
            for column, found in row.problems.items()
        ],
    }


def _cells(web: HttpRequest) -> dict[int, dict[str, str]]:
    """Cells of the page: ``cell-12-night_phone``."""
    found: dict[int, dict[str, str]] = {}
    for name, value in web.POST.items():
        parts = name.split("-", 2)
        if len(parts) == 3 and parts[0] == "cell" and parts[1].isdigit():
            text = str(value).replace("\x00", "").strip()[:2000]
            found.setdefault(int(parts[1]), {})[parts[2]] = text
    return found


@require_safe
@for_public_body
def upload_left(web: HttpRequest, body: PublicBody, upload_id: int) -> HttpResponse:
    """The rows that are left, with what is wrong in a last column."""
    upload = upload_of(body, upload_id)
    rows = [
        {**row.cells, "problem": "; ".join(f"{c}: {s}" for c, s in row.all_problems())}
        for row in upload_read(upload)
        if row.problems
    ]
    columns = [*COLUMNS_OF[upload.table], "problem"]
    return _file(csv_text(columns, rows).encode("utf-8-sig"), "left.csv", "text/csv")


@require_safe
@for_public_body
def template(web: HttpRequest, body: PublicBody, name: str) -> HttpResponse:
    """An empty table to fill in: both as a workbook with what each column means, or as CSV."""
    if name == "sites.xlsx":
        return _file(workbook_bytes(_sheets()), name, XLSX)
    if name == "sites.csv":
        return _file(csv_text(list(COLUMNS_OF["sites"]), []).encode("utf-8-sig"), name, "text/csv")
    if name == "loads.csv":
        return _file(csv_text(LOAD_COLUMNS, []).encode("utf-8-sig"), name, "text/csv")
    raise Http404


def _sheets() -> dict[str, list[list[str]]]:
    form, load = SiteForm(), LoadForm()
    kinds = [[kind.code, kind_name(kind)] for kind in kinds_in()]
    meaning = [
        [name, str(bound.label), _answers(bound) or str(bound.help_text)]
        for name, bound in ((name, form[name]) for name in COLUMNS_OF["sites"])
    ]
    of_loads = [
        [name, str(load[name].label), _answers(load[name]) or str(load[name].help_text)]
        for name in LOAD_COLUMNS
        if name in load.fields
    ]
    return {
        "sites": [list(COLUMNS_OF["sites"])],
        "loads": [list(LOAD_COLUMNS)],
        "columns": [*meaning, [""], *of_loads],
        "kinds": kinds,
    }


def _answers(bound: forms.BoundField) -> str:
    """The answers a column takes."""
    choices = getattr(bound.field, "choices", ())
    return ", ".join(str(value) for value, _label in choices if value)


def _file(content: bytes, name: str, kind: str) -> HttpResponse:
    response = HttpResponse(content, content_type=kind)
    response["Content-Disposition"] = f'attachment; filename="{name}"'
    return response
