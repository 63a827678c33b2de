"""The demo's public body: taken in once, readable by its own key, clear of the ice storm."""

from __future__ import annotations

import pytest

from intake.models import Organisation, OutboxMessage
from quotes.demo.ice_storm import storm_document
from quotes.demo.public_body import public_bodies_load
from quotes.emergency.organisations.services import TOPIC
from quotes.emergency.sites.sizing import site_size
from quotes.models import PublicBody, StandingSite
from tests.config.api.caller import Caller, document
from tests.quotes.cast import NOW

pytestmark = pytest.mark.usefixtures("company", "frozen")
KEYS = {"WELL-1", "HALL-1", "LIFT-2"}


def test_loading_twice_changes_nothing() -> None:
    (name,) = public_bodies_load(now=NOW)
    assert public_bodies_load(now=NOW) == [name]
    assert PublicBody.objects.get().organisation.name == name
    assert set(StandingSite.objects.values_list("key", flat=True)) == KEYS
    assert OutboxMessage.objects.filter(topic=TOPIC).count() == 1


def test_the_bodys_own_key_reads_its_sites() -> None:
    (name,) = public_bodies_load(now=NOW)
    organisation = Organisation.objects.get(name=name)
    county = Caller(name="county", scopes=("sites_read",), organisation=organisation)
    assert {site["key"] for site in document(county.get("sites"))["items"]} == KEYS


def test_each_is_sized_and_only_the_unknown_transfer_equipment_wants_a_person() -> None:
    public_bodies_load(now=NOW)
    for site in StandingSite.objects.all():
        assert site_size(site_id=site.pk, now=NOW)
        site.refresh_from_db()
        assert site.sizing["sets"], site.key
        assert any(option["share"] == 1 for option in site.options), site.key
        unknown = site.transfer_equipment == "unsure"
        assert unknown is (site.key == "LIFT-2")
        assert bool(site.sizing["person"]) is unknown, (site.key, site.sizing["person"])


def test_the_ice_storm_is_elsewhere() -> None:
    public_bodies_load(now=NOW)
    storm = storm_document()
    state = storm["event"]["jurisdiction"].partition("-")[0]
    assert not StandingSite.objects.filter(state=state).exists()
    assert not KEYS & {site["key"] for site in storm["sites"]}
