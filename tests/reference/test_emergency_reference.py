"""Ranks and intake items against the published ones, copied row by row into ``data/``.

Sources: the order of temporary power of a U.S. Army Corps of Engineers mission (Defense Logistics
Agency, news article 1410067) and a county's emergency plan (Indian River County, Florida), both
seen; the rule that priority is set locally (FEMA IS-815, lesson 1), seen; items asked before a set
is sent: FM 5-422 appendix B, generator worksheets of Pennsylvania and Georgia, FEMA IS-815 lesson
3, seen; rows marked ``memory`` are assessment practice of USACE and FEMA, from memory.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from quotes.emergency.ranks.defaults import default_kinds, source_line
from quotes.emergency.sites.fields import COLUMNS
from quotes.emergency.sites.forms import LENGTHS
from quotes.models import Need, StandingSite

DATA = Path(__file__).parent / "data"
SITE_FIELDS = {field.name for field in StandingSite._meta.get_fields()}
NEED_FIELDS = {field.name for field in Need._meta.get_fields()}


def rows(name: str) -> list[dict[str, str]]:
    with (DATA / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(line for line in file if not line.startswith("#")))


RANK = {kind.code: kind.rank for kind in default_kinds()}
# Words of the published rows, and the kinds that stand for them.
PUBLISHED = {
    "911 centres": "call_center",
    "medical facilities": "medical",
    "police and fire stations": "police fire",
    "water and wastewater treatment and pumping": "water wastewater",
    "local command and control": "command",
    "recovery": "recovery",
}
COUNTY = ["hospitals", "water/sewer plants", "communications", "public service incl. shelters",
          "transport"]  # fmt: skip
COUNTY_KINDS = ["medical", "water", "communications", "shelter", "transport"]


@pytest.mark.parametrize("row", rows("facility_priority.csv")[:3], ids=lambda row: row["kind"])
def test_each_published_example_has_its_published_rank(row: dict[str, str]) -> None:
    found = [(words, kinds) for words, kinds in PUBLISHED.items() if words in row["examples"]]
    assert found
    left = row["examples"]
    for words, kinds in found:
        left = left.replace(words, "")
        assert {RANK[kind] for kind in kinds.split()} == {int(row["rank"])}
    assert not left.strip(" ,")  # every example was ticked off


def test_the_default_never_turns_a_countys_published_order_round() -> None:
    (row,) = [row for row in rows("facility_priority.csv") if "county plan" in row["rank"]]
    places = [row["kind"].index(words) for words in COUNTY]
    assert places == sorted(places)
    ranks = [RANK[kind] for kind in COUNTY_KINDS]
    assert ranks == sorted(ranks)


def test_priority_is_set_locally() -> None:
    (row,) = [row for row in rows("facility_priority.csv") if row["rank"] == "rule"]
    assert "set locally" in row["kind"]
    assert "IS-815" in source_line("set_locally")


def test_every_kind_names_a_public_source() -> None:
    named = {kind.source for kind in default_kinds()}
    assert named == {source_line("mission_order"), source_line("county_plan")}


# Each published item by how it begins, and the fields of a standing site that hold it; those after
# the bar are fields of the need, which is made in the event.
ITEMS = {
    "requesting body, responsible contact":
        "organisation contact_name night_phone second_contact second_phone",
    "applicant type, preparer": "organisation assessed_by signer",
    "street address": "street zip latitude longitude county state",
    "scaled sketch": "sketch_note lead_length_m",
    "nature of the need, outage": "need_note | need_by accepted_at",
    "critical facility": "critical priority_number people_served",
    "estimate per load": "loads supply",
    "kWh use": "capacity_note",
    "special volts": "phases_note service_note",
    "existing standby set": "existing_set_note service_note",
    "mount on building": "ground_note connection",
    "service entry, main breaker":
        "service_note main_breaker_a supply phases_note transfer_equipment transfer_note",
    "cable route": "lead_length_m route_note connection access_note ground_note noise_note",
    "fuel kind": "fuel_note",
    "hazards": "hazards_note",
    "assessment done by": "assessed_by assessed_on",
    "materials needed": "connect_material_note",
    "two facilities in one town": "sizing options sized_against",
}  # fmt: skip


@pytest.mark.parametrize("row", rows("emergency_intake.csv"), ids=lambda row: row["item"][:40])
def test_each_published_item_has_its_field(row: dict[str, str]) -> None:
    (fields,) = [fields for begins, fields in ITEMS.items() if row["item"].startswith(begins)]
    of_site, _bar, of_need = fields.partition("|")
    assert set(of_site.split()) <= SITE_FIELDS
    assert set(of_need.split()) <= NEED_FIELDS


def test_what_is_asked_before_a_storm_is_asked_on_the_page_and_in_the_table() -> None:
    asked = {LENGTHS.get(name, name) for name in COLUMNS}
    derived = {"organisation", "loads", "sizing", "options", "sized_against"}
    wanted = {name for fields in ITEMS.values() for name in fields.partition("|")[0].split()}
    assert wanted - derived <= asked


def test_a_neighbours_size_is_never_copied() -> None:
    """Two facilities in one town can need very different sets: each is sized by its own loads."""
    from quotes.emergency.sites.sizing import site_requirement

    small, large = (
        StandingSite(
            zip="80701", supply="480Y/277", main_breaker_a=amps, transfer_equipment="inlet"
        )
        for amps in (100, 800)
    )
    plates = [site_requirement(one)["loads"][0]["nameplate"] for one in (small, large)]
    assert plates == ["100 A 480 V 3 ph", "800 A 480 V 3 ph"]
