"""Which kinds there are in a place, and which rank each has there."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import get_language

from quotes.models import FacilityKind, Rank

OTHER = "municipal"


@dataclass(frozen=True, slots=True)
class Ranked:
    """The rank of a kind in a place, and the reason as it is shown."""

    rank: int
    reason: str


def jurisdictions(state: str, county: str = "") -> tuple[str, ...]:
    """The places whose ranks count, the nearest first: county, state, the owner's default."""
    named = [f"{state}-{county}"] if state and county else []
    return (*named, *([state] if state else []), "")


def kinds_in(state: str = "", county: str = "") -> list[FacilityKind]:
    """One row a kind: the county's, else the state's, else the owner's default; by rank."""
    order = jurisdictions(state, county)
    found = FacilityKind.objects.filter(jurisdiction__in=order)
    nearest: dict[str, FacilityKind] = {}
    for kind in sorted(found, key=lambda kind: order.index(kind.jurisdiction)):
        nearest.setdefault(kind.code, kind)
    return sorted(nearest.values(), key=lambda kind: (kind.rank, kind.name))


def rank_in(code: str, *, state: str = "", county: str = "") -> Ranked:
    """The rank of a kind in a place. A kind nobody ranked is served with other municipal ones."""
    return rank_among(code, kinds_in(state, county))


def rank_among(code: str, kinds: Iterable[FacilityKind]) -> Ranked:
    """The same, where the kinds of the place are at hand."""
    kind = next((kind for kind in kinds if kind.code == code), None)
    if kind is None:
        return Ranked(Rank.MUNICIPAL, f"Rank 3: the kind “{code}” has no rank of its own.")
    place = f" in {kind.jurisdiction}" if kind.jurisdiction else ""
    label = Rank(kind.rank).label
    return Ranked(
        kind.rank, f"Rank {kind.rank}, {label}{place}: {kind.why} Source: {kind.source}."[:400]
    )


def kind_name(kind: FacilityKind) -> str:
    """The kind in the language of the page."""
    spanish = (get_language() or "en").startswith("es")
    return kind.name_es if spanish and kind.name_es else kind.name
