"""Ranks: a stated default, changed by the owner and by the jurisdiction, with the reason shown."""

from __future__ import annotations

import pytest

from quotes.emergency.ranks.defaults import default_kinds
from quotes.emergency.ranks.selectors import kinds_in, rank_in
from quotes.emergency.ranks.services import kinds_ensure
from quotes.models import FacilityKind

pytestmark = pytest.mark.django_db


def test_the_default_is_there_with_its_sources() -> None:
    kinds = {kind.code: kind for kind in FacilityKind.objects.all()}
    assert {code: kind.rank for code, kind in kinds.items()} == {
        kind.code: kind.rank for kind in default_kinds()
    }
    assert all(kind.source and kind.why and kind.name_es for kind in kinds.values())


def test_the_nearest_jurisdiction_counts() -> None:
    FacilityKind.objects.create(
        code="shelter", jurisdiction="CO", name="Shelter", rank=2, why="State.", source="Plan A"
    )
    FacilityKind.objects.create(
        code="shelter", jurisdiction="CO-Morgan", name="Shelter", rank=1, why="County.", source="B"
    )
    ranks = [
        rank_in("shelter", state=state, county=county).rank
        for state, county in (("CO", "Morgan"), ("CO", "Summit"), ("NM", "Taos"), ("", ""))
    ]
    assert ranks == [1, 2, 3, 3]
    assert rank_in("shelter", state="CO", county="Morgan").reason == (
        "Rank 1, life-saving in CO-Morgan: County. Source: B."
    )


def test_what_the_owner_changed_stays(db: None) -> None:
    FacilityKind.objects.filter(code="shelter", jurisdiction="").update(rank=1)
    FacilityKind.objects.filter(code="police", jurisdiction="").delete()
    kinds_ensure()
    assert FacilityKind.objects.get(code="shelter", jurisdiction="").rank == 1
    assert FacilityKind.objects.filter(code="police").exists()


def test_an_unknown_kind_comes_with_other_municipal_ones() -> None:
    assert rank_in("castle").rank == 3


def test_one_row_a_kind_by_rank() -> None:
    kinds = kinds_in("CO", "Morgan")
    assert [kind.rank for kind in kinds] == sorted(kind.rank for kind in kinds)
    assert len({kind.code for kind in kinds}) == len(kinds)
