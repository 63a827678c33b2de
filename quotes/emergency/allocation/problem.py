"""What is asked of an emergency plan, in plain figures. Hours count from the start of the plan."""

from __future__ import annotations

from dataclasses import dataclass, field

from sizing.places import great_circle_km


@dataclass(frozen=True, slots=True)
class Site:
    """A site in need. ``rank`` 1 is served first; ``need_by_h`` is when power is wanted."""

    key: str
    rank: int
    need_by_h: float
    latitude_deg: float
    longitude_deg: float


@dataclass(frozen=True, slots=True)
class Option:
    """One thing that passes a demand's checks: ``count`` sets of one type.

    ``share`` is the part of the load it carries, 0 to 1: a site that can do with part of its load
    has options below 1.
    """

    set_code: str
    count: int = 1
    share: float = 1.0


@dataclass(frozen=True, slots=True)
class Demand:
    """What would serve one site, or several near each other at once. At most one option is used."""

    sites: tuple[str, ...]
    options: tuple[Option, ...]


@dataclass(frozen=True, slots=True)
class Yard:
    """A yard and its trucks, each taking one set at a time.

    ``trucks`` are there from the start, one more from each hour of ``back_h`` on.
    """

    key: str
    latitude_deg: float
    longitude_deg: float
    trucks: int
    back_h: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Stock:
    """Like sets in one yard, free from ``free_from_h`` on; ``units`` are their names."""

    yard: str
    set_code: str
    units: tuple[str, ...]
    free_from_h: float = 0.0


@dataclass(frozen=True, slots=True)
class Problem:
    """The whole question.

    ``pinned`` maps a site to a unit that must serve it, ``forbidden`` holds (site, unit) pairs that
    may not be, ``before`` is the plan in force as a map from site to unit: staying is preferred.
    """

    sites: tuple[Site, ...]
    demands: tuple[Demand, ...]
    yards: tuple[Yard, ...]
    stocks: tuple[Stock, ...]
    slot_h: float = 1.0
    horizon_h: float = 24.0
    hookup_h: float = 1.0
    road_km_h: float = 55.0
    road_factor: float = 1.3  # road length over straight line: common practice, no source
    pinned: dict[str, str] = field(default_factory=dict)
    forbidden: frozenset[tuple[str, str]] = frozenset()
    before: dict[str, str] = field(default_factory=dict)

    def trucks_in(self, yard: Yard, slot: int) -> int:
        """How many trucks a yard has from the start of a slot on."""
        start_h = slot * self.slot_h
        return yard.trucks + sum(back_h <= start_h + 1e-9 for back_h in yard.back_h)

    def distance_km(self, yard: Yard, site: Site) -> float:
        """Road distance in km: great circle times the road factor."""
        return self.road_factor * great_circle_km(
            yard.latitude_deg, yard.longitude_deg, site.latitude_deg, site.longitude_deg
        )
