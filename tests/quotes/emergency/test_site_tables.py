"""Tables of sites and loads: a dry run row by row, good rows in, the others kept."""

from __future__ import annotations

import io
import zipfile
from typing import Any

import pytest
from bs4 import BeautifulSoup
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from openpyxl import load_workbook

from quotes.emergency.sites.files import FileRefused, csv_text, file_tables, workbook_bytes
from quotes.models import PublicBody, SiteUpload, StandingSite
from tests.quotes.emergency.conftest import SITE, body_made, signed_in, site_made

UPLOAD = "/emergency/sites/upload/"
COLUMNS = list(SITE)
pytestmark = pytest.mark.django_db


def row(**changed: str) -> dict[str, str]:
    return {**{name: str(value) for name, value in SITE.items()}, **changed}


def sheet(*rows: dict[str, str]) -> list[list[str]]:
    return [COLUMNS, *([one.get(name, "") for name in COLUMNS] for one in rows)]


def as_csv(*rows: dict[str, str]) -> bytes:
    return csv_text(COLUMNS, rows).encode()


def as_workbook(*rows: dict[str, str]) -> bytes:
    return workbook_bytes({"sites": sheet(*rows)})


def sent(member: Client, content: bytes, name: str = "sites.csv") -> str:
    response = member.post(UPLOAD, {"table": SimpleUploadedFile(name, content)})
    assert response.status_code == 302, response.content.decode()
    return str(response["Location"])


@pytest.mark.parametrize("written", [as_csv, as_workbook])
def test_the_dry_run_writes_nothing_and_the_press_brings_in(member: Client, written: Any) -> None:
    page = sent(member, written(row(key="A"), row(key="B", name="Booster")))
    assert b"2 rows that are right" in member.get(page).content
    assert not StandingSite.objects.exists()
    member.post(page, {"take": "1"})
    member.post(page, {"take": "1"})
    assert list(StandingSite.objects.values_list("key", "version")) == [("A", 1), ("B", 1)]


def test_each_wrong_row_says_what_to_do_and_the_good_go_in(member: Client) -> None:
    wrong = [row(key="B", zip="00000"), row(key="C", night_phone="1", supply="12"), row(key="A")]
    page = sent(member, as_csv(row(key="A"), *wrong))
    text = BeautifulSoup(member.get(page).content, "html.parser").get_text(" ", strip=True)
    for said in ("3 rows to put right", "3, zip", "4, night_phone", "4, supply", "5, key"):
        assert said in text
    member.post(page, {"take": "1"})
    assert list(StandingSite.objects.values_list("key", flat=True)) == ["A"]
    assert [line for line, _cells in SiteUpload.objects.get().rows] == [3, 4, 5]


def test_a_row_is_put_right_on_the_page(member: Client) -> None:
    page = sent(member, as_csv(row(key="B", zip="00000")))
    member.post(page, {"cell-2-zip": "80701", "cell-2-organisation": "9", "take": "1"})
    assert StandingSite.objects.get().zip == "80701"


def test_the_rows_that_are_left_can_be_taken_away_and_sent_again(member: Client) -> None:
    page = sent(member, as_csv(row(key="B", zip="00000")))
    left = member.get(f"{page}left.csv").content
    assert b"There is no such ZIP code" in left
    again = sent(member, left.replace(b"00000", b"80701"))
    member.post(again, {"take": "1"})
    assert StandingSite.objects.get().key == "B"


def test_a_column_that_is_not_there_changes_nothing(member: Client, body: PublicBody) -> None:
    site = site_made(body, access_note="Gate code at the fire station")
    page = sent(member, b"key,name,zip,night_phone\nWELL-3,New name,80701,970 555 0199\n")
    member.post(page, {"take": "1"})
    site.refresh_from_db()
    assert (site.name, site.access_note) == ("New name", "Gate code at the fire station")


def test_a_workbook_with_sites_and_loads_loses_neither(member: Client) -> None:
    loads = [
        ["key", "priority", "name", "kind", "quantity", "nameplate"],
        ["A", "2", "Office", "panel", "1", "20 kW 480 V 3 ph"],
        ["A", "1", "Pump", "pump", "2", "7.5 hp 460 V 3 ph code G"],
    ]
    content = workbook_bytes({"sites": sheet(row(key="A")), "loads": loads, "kinds": [["water"]]})
    first = sent(member, content, "all.xlsx")
    response = member.post(first, {"take": "1"})
    assert response["Location"] == UPLOAD  # the loads wait there
    second = SiteUpload.objects.get(table="loads")
    member.post(f"{UPLOAD}{second.pk}/", {"take": "1"})
    assert [load["name"] for load in StandingSite.objects.get().loads] == ["Pump", "Office"]


def test_loads_of_one_site_go_in_together_or_not_at_all(member: Client, body: PublicBody) -> None:
    site = site_made(body, loads=[{"name": "Old", "priority": 1}])
    content = (
        b"key,priority,name,kind,nameplate\n"
        b"WELL-3,1,Pump,pump,7.5 hp 460 V 3 ph\nWELL-3,x,Fan,motor,\nGONE,1,Pump,pump,\n"
    )
    page = sent(member, content)
    member.post(page, {"take": "1"})
    site.refresh_from_db()
    assert [load["name"] for load in site.loads] == ["Old"]
    assert len(SiteUpload.objects.get().rows) == 3


def test_the_templates_can_be_filled_in_as_they_come(member: Client) -> None:
    content = member.get("/emergency/sites/template/sites.xlsx").content
    book = load_workbook(io.BytesIO(content))
    assert book.sheetnames == ["sites", "loads", "columns", "kinds"]
    names = [cell.value for cell in book["sites"][1]]
    book["sites"].append([row(key="T").get(name, "") for name in names])
    out = io.BytesIO()
    book.save(out)
    page = sent(member, out.getvalue(), "filled.xlsx")
    member.post(page, {"take": "1"})
    assert StandingSite.objects.get().key == "T"
    for name in ("sites.csv", "loads.csv"):
        assert member.get(f"/emergency/sites/template/{name}").status_code == 200
    assert member.get("/emergency/sites/template/else.csv").status_code == 404


def bomb() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", b" " * 40_000_000)
    return out.getvalue()


def entities() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("xl/workbook.xml", b'<!DOCTYPE a [<!ENTITY b "c">]><a>&b;</a>')
    return out.getvalue()


REFUSED = {
    "empty": b"",
    "header alone": b"key,name,zip\n",
    "unknown column": b"key,name,zip,night_phone,colour\nA,B,80701,1,red\n",
    "twice": b"key,key,zip\nA,A,80701\n",
    "nulls": b"key,name\nA\x00,B\n",
    "picture": b"\x89PNG\r\n\x1a\n\x00\x00",
    "more cells": b"key,name,zip,night_phone\nA,B,80701,1,more\n",
    "unclosed": b'key,name,zip,night_phone\nA,"B,80701,1\n',
    "large": b"key,name\n" + b"A,B\n" * 600_000,
    "rows": b"key,name\n" + b"A,B\n" * 2_001,
    "not a workbook": b"PK\x03\x04 nothing",
    "bomb": bomb(),
    "entities": entities(),
}


@pytest.mark.parametrize("content", REFUSED.values(), ids=REFUSED)
def test_a_file_that_is_no_table_is_refused_with_what_to_do(member: Client, content: bytes) -> None:
    response = member.post(UPLOAD, {"table": SimpleUploadedFile("a.csv", content)})
    assert response.status_code == 422
    assert BeautifulSoup(response.content, "html.parser").select_one(".error-text")
    assert not SiteUpload.objects.exists()


def test_semicolons_and_old_encodings_are_read() -> None:
    (rows,) = file_tables("key;name\nA;Depósito\n".encode("cp1252"))
    assert rows == [(2, {"key": "A", "name": "Depósito"})]


def test_a_formula_leaves_as_text() -> None:
    assert "'=cmd" in csv_text(["name"], [{"name": "=cmd|calc"}])
    assert "\n-106.5" in csv_text(["name"], [{"name": "-106.5"}])


def test_no_file_at_all_is_refused(member: Client) -> None:
    assert member.post(UPLOAD, {}).status_code == 422


def test_another_bodys_upload_is_not_there(member: Client) -> None:
    page = sent(member, as_csv(row()))
    stranger = signed_in(body_made("Birch County"))
    for client in (stranger, Client()):
        assert client.get(page).status_code == 404
        assert client.post(page, {"take": "1"}).status_code == 404
        assert client.get(f"{page}left.csv").status_code == 404
    assert not StandingSite.objects.exists()


def test_what_the_library_stumbles_on_is_a_refusal() -> None:
    with pytest.raises(FileRefused):
        file_tables(b"PK\x03\x04")
