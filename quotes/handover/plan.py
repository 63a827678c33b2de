"""Readings against the plan: what is worth a note, with its figures. Pure functions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from django.utils.translation import gettext as _

LIGHT_PERCENT = 30  # NFPA 110, 8.4.2, taken as a running rule of thumb
LEAST_HOURS_TO_JUDGE = 4  # a gauge's quarter is too coarse for less; common practice, no source
HOURS_TOLERANCE = Decimal("1.05")


@dataclass(frozen=True, slots=True)
class Plan:
    """What was sized and quoted, for one unit."""

    site_kw: float
    running_hours_per_day: float
    burn_l_h: float  # at the planned load
    light_burn_l_h: float  # at 30 % of what the set gives at the site
    tank_l: float
    reserve_l: float  # what the pump does not reach
    visit_every_h: float | None  # the owner refuels so often; None where the customer does
    ends_at: datetime


@dataclass(frozen=True, slots=True)
class Seen:
    """One reading."""

    at: datetime
    engine_hours: float
    fuel_percent: float
    load_kw: float | None = None
    filled: bool = False


@dataclass(frozen=True, slots=True)
class Note:
    """Something the customer and the rep should know, with its figures."""

    code: str
    text: str


def notes_on(plan: Plan, readings: Sequence[Seen]) -> list[Note]:
    """The notes on the last of the readings; the first is the one at delivery."""
    if len(readings) < 2:
        return []
    found = [_light(plan, readings), _hours(plan, readings), _dry(plan, readings)]
    return [note for note in found if note is not None]


def _light(plan: Plan, readings: Sequence[Seen]) -> Note | None:
    """Under 30 %: by the display where it was read, else by what was burnt since the last."""
    before, last = readings[-2], readings[-1]
    if last.load_kw is not None:
        percent = 100 * last.load_kw / plan.site_kw
        words = _("The display shows %(kw).0f kW") % {"kw": last.load_kw}
        under = percent < LIGHT_PERCENT
    else:
        burn_l_h = burnt_l_h(plan, before, last)
        under = burn_l_h is not None and burn_l_h < plan.light_burn_l_h
        words = _("It burnt about %(burn).1f L an hour") % {"burn": burn_l_h or 0}
    if not under:
        return None
    text = _(
        "%(words)s; under %(percent)d %% of the %(site).0f kW the set gives here. A diesel engine"
        " soots up when it runs so for long: a smaller set or a load bank helps."
    ) % {"words": words, "percent": LIGHT_PERCENT, "site": plan.site_kw}
    return Note("light_load", text)


def burnt_l_h(plan: Plan, before: Seen, last: Seen) -> float | None:
    """Burn since the reading before [L/h]; None where it was filled or ran too short."""
    hours = last.engine_hours - before.engine_hours
    used = before.fuel_percent - last.fuel_percent
    if last.filled or hours < LEAST_HOURS_TO_JUDGE or used < 0:
        return None
    return used / 100 * plan.tank_l / hours


def _hours(plan: Plan, readings: Sequence[Seen]) -> Note | None:
    """More engine hours than the quote planned for the days gone by."""
    first, last = readings[0], readings[-1]
    days = (last.at - first.at) / timedelta(days=1)
    run = last.engine_hours - first.engine_hours
    planned = plan.running_hours_per_day * days
    if days < 1 or run <= planned * float(HOURS_TOLERANCE) + 1:
        return None
    to_end = run + run / days * max(0.0, (plan.ends_at - last.at) / timedelta(days=1))
    text = _(
        "%(run).0f engine hours in %(days).1f days; the quote planned %(planned).0f. At this pace"
        " it comes to about %(end).0f hours, and hours beyond the plan are charged."
    ) % {"run": run, "days": days, "planned": planned, "end": to_end}
    return Note("more_hours", text)


def _dry(plan: Plan, readings: Sequence[Seen]) -> Note | None:
    """The tank runs dry before somebody comes: our visit, or within a day where they refuel."""
    before, last = readings[-2], readings[-1]
    burn_l_h = max(plan.burn_l_h, burnt_l_h(plan, before, last) or 0.0)
    left_l = max(0.0, last.fuel_percent / 100 * plan.tank_l - plan.reserve_l)
    lasts_h = left_l / burn_l_h if burn_l_h else float("inf")
    run_share = plan.running_hours_per_day / 24 or 1.0
    dry_at = last.at + timedelta(hours=min(lasts_h / run_share, 10_000))
    visit_at = _visit_at(plan, readings)
    if dry_at >= visit_at or dry_at >= plan.ends_at:
        return None
    text = _(
        "%(left).0f L left to burn, about %(lasts).0f hours at %(burn).1f L an hour: empty around"
        " %(dry)s, before fuel is due."
    ) % {"left": left_l, "lasts": lasts_h, "burn": burn_l_h, "dry": f"{dry_at:%a %d %b, %H:%M UTC}"}
    return Note("runs_dry", text)


def _visit_at(plan: Plan, readings: Sequence[Seen]) -> datetime:
    last = readings[-1]
    if plan.visit_every_h is None:
        return last.at + timedelta(days=1)
    filled = [seen.at for seen in readings if seen.filled] or [readings[0].at]
    every = timedelta(hours=plan.visit_every_h)
    visit_at = filled[-1] + every
    while visit_at <= last.at:
        visit_at += every
    return visit_at
