"""Whose clock counts: the place's. A page of an event tells and takes times by one zone."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

from django.db.models.fields.json import KT

from intake.desk.promise import company_zone
from intake.requests.selectors import zip_zone
from quotes.emergency.planning.selectors import branch_position, position
from quotes.models import Branch, EmergencyEvent, Need
from sizing.places import great_circle_km


def need_zone(need: Need) -> ZoneInfo:
    """The zone of a need's place: by its ZIP code, else its county or state, else its yard."""
    place = need.site.zip if need.site else str(need.requirement.get("site", {}).get("zip") or "")
    at = need.jurisdiction or (need.event.jurisdiction if need.event else "")
    return _zone(zip_zone(place) or place_zone(at) or _nearest_yard([need]))


def event_zone(event: EmergencyEvent) -> ZoneInfo:
    """The zone of an event: its county's or state's, else of most needs, else of its yard."""
    said = place_zone(event.jurisdiction) or _of_needs(event)
    return _zone(said or _nearest_yard(event.needs.exclude(latitude=None)[:1]))


def jurisdiction_zone(jurisdiction: str) -> ZoneInfo:
    """The zone of a state, or of a county written ``ST-County``."""
    return _zone(place_zone(jurisdiction.strip()))


def zone_words(zone: ZoneInfo, at: datetime) -> str:
    """A zone as people say it: ``Denver time (MDT)``."""
    return f"{zone.key.rsplit('/', 1)[-1].replace('_', ' ')} time ({at.astimezone(zone):%Z})"


@lru_cache(maxsize=512)
def place_zone(jurisdiction: str) -> str:
    """The zone of most ZIP codes of a county, else of its state; empty where there is none."""
    import zipcodes

    state, _dash, county = jurisdiction.partition("-")
    if not state:
        return ""
    found = zipcodes.filter_by(state=state)  # type: ignore[no-untyped-call]
    there = [one for one in found if county == _county(one)]
    return _most(one["timezone"] for one in there or found)


def _county(record: dict[str, str]) -> str:
    return str(record.get("county") or "").removesuffix(" County")


def _of_needs(event: EmergencyEvent) -> str:
    needs = Need.objects.filter(event=event)
    places = needs.values_list("site__zip", KT("requirement__site__zip"), "jurisdiction")
    return _most(zip_zone(site or said or "") or place_zone(at) for site, said, at in places)


def _nearest_yard(needs: Iterable[Need]) -> str:
    """The zone of the yard nearest to the first of these needs whose place is known."""
    where = next((found for need in needs if (found := position(need))), None)
    if where is None:
        return ""
    yards = [
        (great_circle_km(*branch_position(one), *where), one.timezone)
        for one in Branch.objects.order_by("pk")
    ]
    return min(yards)[1] if yards else ""


def _most(names: Iterable[str]) -> str:
    counted = Counter(name for name in names if name)
    return counted.most_common(1)[0][0] if counted else ""


def _zone(name: str) -> ZoneInfo:
    return ZoneInfo(name) if name else company_zone()
