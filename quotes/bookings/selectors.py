"""What is free, where, and when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Exists, OuterRef, QuerySet

from intake.prepared import A_DAY, A_KEY, ANOTHER_DAY, Prepared
from quotes.models import Booking, Branch, Unit, UnitState

LOOK_AHEAD_DAYS = 28


@dataclass(frozen=True, slots=True)
class Hold:
    """Days a unit is held: first and last day of hire, and the first day it may go out again."""

    starts_on: date
    ends_on: date
    free_on: date


def hold_for(branch: Branch, starts_on: date, ends_on: date) -> Hold:
    """The hold of a hire at a branch, with its turnaround."""
    return Hold(starts_on, ends_on, ends_on + timedelta(days=1 + branch.turnaround_days))


def bookings_overlapping(hold: Hold) -> QuerySet[Booking]:
    """Bookings that stand and share a day with a hold; both half-open."""
    return Booking.objects.filter(
        cancelled_at=None, starts_on__lt=hold.free_on, free_on__gt=hold.starts_on
    )


def units_free(*, set_code: str, branch: Branch, hold: Hold) -> QuerySet[Unit]:
    """Units of a type at a branch that a hold could take, by id."""
    taken = bookings_overlapping(hold).filter(unit=OuterRef("pk"))
    return Unit.objects.filter(
        ~Exists(taken),
        set_type__code=set_code,
        branch=branch,
        state=UnitState.IN_SERVICE,
    ).order_by("pk")


FREE = Prepared(
    lambda code, branch_id, starts_on, free_on: units_free(
        set_code=code, branch=Branch(pk=branch_id), hold=Hold(starts_on, starts_on, free_on)
    ).values_list("pk"),
    "a code",
    A_KEY,
    A_DAY,
    ANOTHER_DAY,
)


def all_free(*, sets: dict[str, int], branch: Branch, starts_on: date, ends_on: date) -> bool:
    """Whether a branch has so many units of each type free."""
    hold = hold_for(branch, starts_on, ends_on)
    return all(
        len(FREE.rows(code, branch.pk, hold.starts_on, hold.free_on)) >= count
        for code, count in sets.items()
    )


def next_free_start(
    *, sets: dict[str, int], branch: Branch, starts_on: date, ends_on: date
) -> date | None:
    """The first later start, within four weeks, on which the same hire could be had."""
    for shift in range(1, LOOK_AHEAD_DAYS + 1):
        later = timedelta(days=shift)
        if all_free(sets=sets, branch=branch, starts_on=starts_on + later, ends_on=ends_on + later):
            return starts_on + later
    return None
