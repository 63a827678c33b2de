"""The requirement as the method takes it: frozen, in SI units, every unsure value a range."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, time

from sizing.nameplate import Nameplate

APPLICATIONS = ("dewatering", "jobsite_trailer", "event_lighting", "emergency", "other")
LOAD_KINDS = (
    "motor", "pump", "compressor", "hvac", "heater", "lamp", "panel", "electronics",
    "ups", "charger", "welder", "transformer", "other",
)  # fmt: skip
SUPPLIES = ("120/240", "208Y/120", "480Y/277", "240/120")
STARTING_METHODS = (
    "across_the_line", "wye_delta", "autotransformer_50", "autotransformer_65",
    "autotransformer_80", "part_winding", "soft_starter", "vfd",
)  # fmt: skip
UNSURE = "unsure"


@dataclass(frozen=True, slots=True)
class Band:
    """A value that may be unsure: low, likely and high, all in the unit of the field's name."""

    low: float
    likely: float
    high: float
    assumed: str = ""  # why, where the value was not given; empty where it was

    @property
    def known(self) -> bool:
        return self.low == self.high


def known(value: float) -> Band:
    """A band without width."""
    return Band(value, value, value)


@dataclass(frozen=True, slots=True)
class Load:
    """One row of equipment, as asked; ``quantity`` equal pieces."""

    name: str
    kind: str
    nameplate: Nameplate
    quantity: int = 1
    starting: str = UNSURE
    float_switch: bool | None = None
    starts_after: str | None = None
    never_with: str | None = None
    restarts_itself: bool | None = None
    demand_factor: float = 1.0


@dataclass(frozen=True, slots=True)
class Sump:
    """Wet well of a pump on a float switch; a missing figure is ``None``."""

    inflow_l_s: float | None = None
    pump_rate_l_s: float | None = None
    active_volume_l: float | None = None
    alternating: bool = False


@dataclass(frozen=True, slots=True)
class Towing:
    """What the customer would tow with; all ``None`` where the set is to be delivered."""

    vehicle_rating_kg: float | None = None
    hitch_class: int | None = None
    brake_controller: bool | None = None


@dataclass(frozen=True, slots=True)
class Site:
    """Where it runs. Bands for what may be unsure, ``None`` for what does not bear on the set."""

    altitude_m: Band
    ambient_c: Band
    hours_per_day: Band
    refuel_every_h: Band
    lead_length_m: Band
    zip: str | None = None
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    timezone: str | None = None
    noise_limit_dba: float | None = None
    noise_distance_m: float | None = None
    barrier_db: float = 0.0
    public_nearby: bool | None = None
    openings_distance_m: float | None = None
    lights_until: time | None = None
    work_from: time | None = None
    work_until: time | None = None
    sump: Sump | None = None
    towing: Towing | None = None
    plugs: tuple[str, ...] = ()
    crossing: bool | None = None  # people or vehicles cross the leads
    feeds_building: bool | None = None
    transfer_equipment: bool | None = None
    redundancy: str = "n"  # "n" or "n+1"


@dataclass(frozen=True, slots=True)
class Hire:
    """The hire period; both days belong to it."""

    start: date
    end: date


@dataclass(frozen=True, slots=True)
class Requirement:
    """A whole request as the method takes it. ``supply`` is ``None`` where unsure or not given."""

    application: str
    supply: str | None
    site: Site
    loads: tuple[Load, ...]
    hire: Hire | None = None
    supply_unsure: bool = field(default=False)
