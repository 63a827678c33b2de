"""A table of sites, or of their loads: a dry run row by row, then the good rows brought in.

What has errors stays in the upload, to be put right there or taken away as a file.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from django import forms
from django.db import transaction
from django.utils.translation import gettext as _

from intake.events.services import event_record
from intake.models import Organisation
from quotes.emergency.sites.fields import COLUMNS
from quotes.emergency.sites.files import FileRefused, file_tables
from quotes.emergency.sites.forms import LOAD_COLUMNS, LoadRowForm, SiteForm, site_initial
from quotes.emergency.sites.services import site_save
from quotes.models import SiteUpload, StandingSite

Cells = dict[str, str]
COLUMNS_OF = {"sites": COLUMNS, "loads": LOAD_COLUMNS}
FORM_OF: dict[str, type[forms.Form]] = {"sites": SiteForm, "loads": LoadRowForm}


@dataclass(slots=True)
class Row:
    """One row of an upload: its line, what was typed, what is wrong, and what it would do."""

    line: int
    cells: Cells
    problems: dict[str, list[str]] = field(default_factory=dict)
    doing: str = ""  # "added", "changed" or "same"; empty where there are problems
    form: forms.Form | None = None

    @property
    def key(self) -> str:
        return self.cells.get("key", "").strip()

    def all_problems(self) -> list[tuple[str, str]]:
        """Column and sentence of each problem."""
        return [(column, one) for column, found in self.problems.items() for one in found]


def table_of(columns: set[str]) -> str:
    """Which table these columns make; a file whose columns make neither is refused."""
    table = "sites" if {"facility_kind", "zip", "night_phone"} & columns else "loads"
    unknown = sorted(columns - set(COLUMNS_OF[table]) - {"problem"})
    if unknown:
        raise FileRefused(
            _("Unknown columns: {names}. Use the template.").format(names=", ".join(unknown[:8]))
        )
    if "key" not in columns or ("name" not in columns and "facility_kind" not in columns):
        raise FileRefused(_("The columns “key” and “name” are missing. Use the template."))
    return table


@transaction.atomic
def uploads_keep(
    *, organisation: Organisation, file_name: str, data: bytes, now: datetime
) -> list[SiteUpload]:
    """Keep a file's tables as they were typed, sites first; nothing is changed by it yet."""
    tables = file_tables(data)
    made = [_upload(organisation, file_name, rows, now) for rows in tables]
    made.sort(key=lambda upload: upload.table != "sites")
    for upload in made:
        upload.full_clean(exclude=["organisation"])
        upload.save()
    return made


def _upload(
    organisation: Organisation, file_name: str, rows: list[tuple[int, Cells]], now: datetime
) -> SiteUpload:
    return SiteUpload(
        organisation=organisation,
        table=table_of(set(rows[0][1])),
        file_name=file_name.replace("\x00", "")[-200:],
        rows=[[line, {n: c for n, c in cells.items() if n != "problem"}] for line, cells in rows],
        made_at=now,
    )


def upload_read(upload: SiteUpload) -> list[Row]:
    """A dry run: every row with its problems, or what it would do; nothing is written."""
    sites = {
        site.key: site
        for site in StandingSite.objects.filter(
            organisation=upload.organisation_id, archived_at=None
        )
    }
    rows = [Row(line, cells) for line, cells in upload.rows]
    judge: Callable[[list[Row], dict[str, StandingSite]], None] = (
        _sites_judge if upload.table == "sites" else _loads_judge
    )
    for row in rows:
        row.form = FORM_OF[upload.table](_data(row, sites, upload.table))
        if not row.form.is_valid():
            row.problems = {
                name: [str(one) for one in found] for name, found in row.form.errors.items()
            }
    judge(rows, sites)
    return rows


def _data(row: Row, sites: dict[str, StandingSite], table: str) -> dict[str, Any]:
    """A row over what is on file: a column that is not in the file changes nothing."""
    site = sites.get(row.key)
    on_file = site_initial(site) if site is not None and table == "sites" else {}
    return {**on_file, **row.cells}


def _add(row: Row, column: str, sentence: str) -> None:
    row.problems.setdefault(column, []).append(sentence)


def _sites_judge(rows: list[Row], sites: dict[str, StandingSite]) -> None:
    seen: set[str] = set()
    for row in rows:
        if row.key in seen:
            _add(row, "key", _("“{name}” is there twice.").format(name=row.key))
        seen.add(row.key)
        if row.problems:
            continue
        site = sites.get(row.key)
        row.doing = "added" if site is None else _change(row, site)


def _change(row: Row, site: StandingSite) -> str:
    assert isinstance(row.form, SiteForm)
    same = all(getattr(site, name) == value for name, value in row.form.values().items())
    return "same" if same else "changed"


def _loads_judge(rows: list[Row], sites: dict[str, StandingSite]) -> None:
    seen: set[tuple[str, str]] = set()
    for row in rows:
        name = (row.key, row.cells.get("name", "").strip())
        if row.key and row.key not in sites:
            _add(row, "key", _("There is no site “{name}” on file.").format(name=row.key))
        elif name in seen:
            _add(row, "name", _("“{name}” is there twice.").format(name=name[1]))
        elif not row.cells.get("name") and "name" not in row.problems:
            _add(row, "name", _("Say what the equipment is."))
        seen.add(name)
    wrong = {row.key for row in rows if row.problems}
    for row in rows:
        if row.key in wrong and not row.problems:
            _add(row, "key", _("Another load of this site has a problem; they go in together."))
        if not row.problems:
            row.doing = "changed"


@dataclass(frozen=True, slots=True)
class Taken:
    """How many rows went in, and how many are left to put right."""

    taken: int
    left: int


@transaction.atomic
def upload_take(*, upload: SiteUpload, now: datetime) -> Taken:
    """Bring in the good rows and keep the others; pressed again it brings in nothing twice."""
    upload = SiteUpload.objects.select_for_update().get(pk=upload.pk)
    rows = upload_read(upload)
    good = [row for row in rows if not row.problems]
    taking = _sites_take if upload.table == "sites" else _loads_take
    taking(upload.organisation, good, now)
    left = [[row.line, row.cells] for row in rows if row.problems]
    SiteUpload.objects.filter(pk=upload.pk).update(
        rows=left, taken_at=now if not left else upload.taken_at
    )
    if good:
        event_record(
            kind="sites_brought_in", now=now, actor=str(upload.organisation)[:120],
            subject=upload.table, count=len(good), left=len(left),
        )  # fmt: skip
    return Taken(len(good), len(left))


def _sites_take(organisation: Organisation, rows: list[Row], now: datetime) -> None:
    for row in rows:
        assert isinstance(row.form, SiteForm)
        if row.doing == "same":
            continue
        site = StandingSite.objects.filter(organisation=organisation, key=row.key).first()
        if site is not None and site.archived_at is not None:
            site.archived_at = None
        site_save(
            organisation=organisation, fields=row.form.values(), loads=None, now=now,
            site=site, version=site.version if site else 0,
        )  # fmt: skip


def _loads_take(organisation: Organisation, rows: list[Row], now: datetime) -> None:
    """The loads of a site in the file take the place of those on file."""
    by_site: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for row in rows:
        assert isinstance(row.form, LoadRowForm)
        by_site[row.key].append(row.form.load())
    for key, loads in by_site.items():
        site = StandingSite.objects.get(organisation=organisation, key=key)
        loads.sort(key=lambda load: int(load["priority"]))
        site_save(
            organisation=organisation, fields={}, loads=loads, now=now,
            site=site, version=site.version,
        )  # fmt: skip


@transaction.atomic
def upload_correct(*, upload: SiteUpload, cells: dict[int, Cells]) -> SiteUpload:
    """Put rows right on the page; ``cells`` are the changed cells by the row's line."""
    upload = SiteUpload.objects.select_for_update().get(pk=upload.pk)
    known = set(COLUMNS_OF[upload.table])
    upload.rows = [
        [line, {**row, **{n: c for n, c in cells.get(line, {}).items() if n in known}}]
        for line, row in upload.rows
    ]
    upload.save(update_fields=["rows"])
    return upload
