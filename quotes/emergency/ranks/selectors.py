"""Which kinds there are in a place, and which rank each has there."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.translation import get_language

from quotes.models import FacilityKind, Rank

OTHER = "municipal"
REASON_LENGTH = 400


@dataclass(frozen=True, slots=True)
class Ranked:
    """The rank of a kind in a place and why; ``place`` is whose row says so, empty the owner's."""

    rank: int
    why: str
    place: str = ""

    @property
    def reason(self) -> str:
        """The reason as it is shown."""
        return f"Rank {self.rank}, {self.why}"[:REASON_LENGTH]

    def reason_since(self, moment: str, before: int) -> str:
        """The reason of a rank that was another one before, as it is shown."""
        whose = f"the ranks of {self.place}" if self.place else "the owner's table"
        since = f"Rank {self.rank} since {moment}: {whose} changed, it was rank {before}."
        return f"{since} {self.why[:1].upper()}{self.why[1:]}"[:REASON_LENGTH]


def ranked_by_table(reason: str) -> bool:
    """Whether a need's reason is one of the table's; any other is a person's word and stands."""
    return re.match(r"Rank \d\b", reason) is not None


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
        label = Rank.MUNICIPAL.label
        return Ranked(Rank.MUNICIPAL, f"{label}: the kind “{code}” has no rank of its own.")
    place = f" in {kind.jurisdiction}" if kind.jurisdiction else ""
    why = f"{Rank(kind.rank).label}{place}: {kind.why} Source: {kind.source}."
    return Ranked(kind.rank, why, kind.jurisdiction)


def kind_name(kind: FacilityKind) -> str:
    """The kind in the language of the page."""
    spanish = (get_language() or "en").startswith("es")
    return kind.name_es if spanish and kind.name_es else kind.name
