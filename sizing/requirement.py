"""The requirement as the method takes it: frozen, in SI units, every unsure value a range."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, time
from typing import Any, NamedTuple

from sizing.errors import DocumentRefused, Problem
from sizing.plate import Nameplate, NameplateRefused
from sizing.plate_reading import read_nameplate
from sizing.reading import UNSURE, Reader, clock
from sizing.tables import table

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


MOST_LOADS, MOST_PIECES = 1000, 500
_FIELDS = {
    "requirement": ("application", "supply", "site", "hire", "loads"),
    "site": (
        "zip", "altitude", "ambient", "hours_per_day", "refuel_every", "lead_length",
        "noise_limit", "noise_distance", "barrier", "public_nearby", "openings_distance",
        "lights_until", "work_hours", "sump", "towing", "plugs", "crossing", "feeds_building",
        "transfer_equipment", "redundancy",
    ),
    "sump": ("inflow", "pump_rate", "active_volume", "alternating"),
    "towing": ("vehicle_rating", "hitch_class", "brake_controller"),
    "hire": ("start", "end"),
    "load": (
        "name", "kind", "nameplate", "quantity", "starting", "float_switch", "starts_after",
        "never_with", "restarts_itself", "demand_factor",
    ),
}  # fmt: skip


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


def read_requirement(document: Mapping[str, Any]) -> Requirement:
    """Requirement from a document as design fixes it, every value in SI units.

    Raises
    ------
    DocumentRefused
        Anything in it cannot be read; it holds all problems, each with its path.
    """
    if not isinstance(document, Mapping):
        message = "the document must be an object with application, supply, site, hire and loads"
        raise DocumentRefused([Problem("", "not_an_object", message)])
    top = Reader(document)
    top.refuse_others(_FIELDS["requirement"])
    application = top.choice("application", APPLICATIONS)
    if document.get("application") in (None, "", UNSURE):
        top.refuse("application", "missing", f"give one of {', '.join(APPLICATIONS)}")
    supply = top.choice("supply", SUPPLIES)
    hire = _hire(top)
    site = _site(top.inner("site") or Reader({}, "site", top.problems), hire)
    loads = _loads(top)
    if top.problems:
        raise DocumentRefused(top.problems)
    return Requirement(str(application), supply, site, loads, hire, supply_unsure=supply is None)


def _hire(top: Reader) -> Hire | None:
    reader = top.inner("hire")
    if reader is None:
        return None
    reader.refuse_others(_FIELDS["hire"])
    start, end = reader.day("start"), reader.day("end")
    for name in _FIELDS["hire"]:
        if reader.given_value(name) is None:
            reader.refuse(name, "missing", "give both days of the hire, like 2027-06-01")
    if start is None or end is None:
        return None
    if end < start:
        reader.refuse("end", "end_before_start", f"the hire ends {end}, before it starts {start}")
    return Hire(start, end)


def _site(reader: Reader, hire: Hire | None) -> Site:
    reader.refuse_others(_FIELDS["site"])
    place = _Place.of(reader, hire)
    work_from, work_until = reader.read("work_hours", _work_hours, "write 07:00-17:00") or (
        None,
        None,
    )
    return Site(
        altitude_m=_band(reader, "altitude", "m", -430, 6200, assumed=place.altitude_m),
        ambient_c=_band(reader, "ambient", "degC", -55, 60, assumed=place.ambient_c),
        hours_per_day=_band(reader, "hours_per_day", "h", 0.1, 24, "h"),
        refuel_every_h=_band(reader, "refuel_every", "h", 1, 2160, "h"),
        lead_length_m=_band(reader, "lead_length", "m", 0, 1000),
        zip=place.zip,
        latitude_deg=place.latitude_deg,
        longitude_deg=place.longitude_deg,
        timezone=place.timezone,
        noise_limit_dba=reader.quantity("noise_limit", "dBA", 20, 120, "dBA"),
        noise_distance_m=reader.quantity("noise_distance", "m", 0.5, 5000),
        barrier_db=reader.quantity("barrier", "dB", 0, 25, "dB") or 0.0,
        public_nearby=reader.flag("public_nearby"),
        openings_distance_m=reader.quantity("openings_distance", "m", 0, 5000),
        lights_until=reader.clock("lights_until"),
        work_from=work_from,
        work_until=work_until,
        sump=_sump(reader.inner("sump")),
        towing=_towing(reader.inner("towing")),
        plugs=_plugs(reader),
        crossing=reader.flag("crossing"),
        feeds_building=reader.flag("feeds_building"),
        transfer_equipment=reader.flag("transfer_equipment"),
        redundancy=reader.choice("redundancy", ("n", "n+1")) or "n",
    )


class _Place(NamedTuple):
    """What the ZIP says of the site; ``None`` throughout where there is no ZIP."""

    zip: str | None = None
    latitude_deg: float | None = None
    longitude_deg: float | None = None
    timezone: str | None = None
    altitude_m: Band | None = None
    ambient_c: Band | None = None

    @classmethod
    def of(cls, reader: Reader, hire: Hire | None) -> _Place:
        from sizing import places

        given = reader.text("zip", 10)
        if given is None:
            return cls()
        try:
            found = places.place(given)
        except places.PlaceRefused as refusal:
            reader.refuse("zip", refusal.code, str(refusal))
            return cls()
        months = places.months_between(hire.start, hire.end) if hire else tuple(range(1, 13))
        return cls(
            found.zip, found.latitude_deg, found.longitude_deg, found.timezone,
            places.altitude_range(found.state), places.ambient_range(found.state, months),
        )  # fmt: skip


def _band(
    reader: Reader, name: str, unit: str, low: float, high: float,
    default_unit: str | None = None, assumed: Band | None = None,
) -> Band:  # fmt: skip
    value = reader.quantity(name, unit, low, high, default_unit)
    if value is not None:
        return known(value)
    return assumed or _default(name)


def _default(name: str) -> Band:
    row = table("site_defaults").row(name)
    return Band(row["low"], row["likely"], row["high"], row["assumed"])


def _work_hours(text: str) -> tuple[time, time]:
    start, end = str(text).split("-")
    return clock(start), clock(end)


def _sump(reader: Reader | None) -> Sump | None:
    if reader is None:
        return None
    reader.refuse_others(_FIELDS["sump"])
    return Sump(
        reader.quantity("inflow", "L/s", 0, 10_000),
        reader.quantity("pump_rate", "L/s", 0.01, 10_000),
        reader.quantity("active_volume", "L", 1, 10_000_000),
        bool(reader.flag("alternating")),
    )


def _towing(reader: Reader | None) -> Towing | None:
    if reader is None:
        return None
    reader.refuse_others(_FIELDS["towing"])
    return Towing(
        reader.quantity("vehicle_rating", "kg", 100, 50_000),
        reader.whole("hitch_class", 1, 5),
        reader.flag("brake_controller"),
    )


def _plugs(reader: Reader) -> tuple[str, ...]:
    def words(value: Any) -> tuple[str, ...]:
        if not isinstance(value, list | tuple) or not all(isinstance(v, str) for v in value):
            raise ValueError(value)
        return tuple(v.strip().upper() for v in value)

    return reader.read("plugs", words, 'give a list of plug names like ["L14-30"]') or ()


def _loads(top: Reader) -> tuple[Load, ...]:
    given = top.given_value("loads")
    if not isinstance(given, list | tuple) or not given:
        top.refuse("loads", "no_loads", "give at least one load: what is to be powered")
        return ()
    if len(given) > MOST_LOADS:
        sentence = (
            f"{len(given):,} rows of loads; at most {MOST_LOADS:,}: put equal pieces together"
        )
        top.refuse("loads", "too_many_loads", sentence)
        return ()
    rows = [_load(top, index, row) for index, row in enumerate(given)]
    _refuse_unknown_names(top, rows)
    return tuple(row for row in rows if row is not None)


def _load(top: Reader, index: int, given: Any) -> Load | None:
    path = f"loads[{index}]"
    if not isinstance(given, Mapping):
        top.refuse(path, "not_an_object", "a load must be an object with name, kind and nameplate")
        return None
    reader = Reader(given, path, top.problems)
    reader.refuse_others(_FIELDS["load"])
    factor = reader.quantity("demand_factor", "", 0.01, 1.0, "")
    return Load(
        name=reader.text("name") or f"Load {index + 1}",
        kind=_kind(reader),
        nameplate=_nameplate(reader),
        quantity=reader.whole("quantity", 1, MOST_PIECES) or 1,
        starting=reader.choice("starting", STARTING_METHODS) or UNSURE,
        float_switch=reader.flag("float_switch"),
        starts_after=reader.text("starts_after"),
        never_with=reader.text("never_with"),
        restarts_itself=reader.flag("restarts_itself"),
        demand_factor=1.0 if factor is None else factor,
    )


def _kind(reader: Reader) -> str:
    return reader.choice("kind", LOAD_KINDS) or "other"


def _nameplate(reader: Reader) -> Nameplate:
    given = reader.given_value("nameplate")
    if given is None:
        return Nameplate()
    try:
        return read_nameplate(given)
    except NameplateRefused as refusal:
        for problem in refusal.problems:
            name = f"nameplate.{problem.path}" if problem.path else "nameplate"
            reader.refuse(name, problem.code, problem.message)
    return Nameplate()


def _refuse_unknown_names(top: Reader, rows: list[Load | None]) -> None:
    names = {row.name for row in rows if row}
    for index, row in enumerate(rows):
        for name in ("starts_after", "never_with"):
            other = getattr(row, name, None)
            if row is not None and other is not None and other not in names - {row.name}:
                message = f"no other load is named “{other}”; use the name of another load"
                top.refuse(f"loads[{index}].{name}", "unknown_load", message)
