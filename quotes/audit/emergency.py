"""Promises about the needs of an emergency, the plans that serve them, and the sets held."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from django.db.models import Exists, F, OuterRef, Q, QuerySet

from intake.audit.breach import Breach, Invariant
from quotes.models import Booking, Delivery, Need, NeedState, PlanState

SERVED = (NeedState.PROMISED, NeedState.ON_THE_WAY, NeedState.RUNNING)


def sent_by_plan() -> QuerySet[Delivery]:
    """Deliveries by the plans in force."""
    return Delivery.objects.filter(plan__state=PlanState.IN_FORCE)


def served_unseen(now: datetime) -> Iterator[Breach]:
    """What a person must see first is promised no set."""
    waits = Need.objects.filter(needs_person=True, person_cleared_at=None)
    for need in waits.filter(Q(state__in=SERVED) | Q(pk__in=sent_by_plan().values("needs"))):
        detail = "A set is given to it, but nobody has cleared why a person must look at it."
        yield Breach("served_unseen", need.key, detail)


def promised_without_set(now: datetime) -> Iterator[Breach]:
    """Every need that counts as served has a set by the plan in force, held for it."""
    held = sent_by_plan().filter(needs=OuterRef("pk"), booking__cancelled_at=None)
    held = held.exclude(booking=None)
    for need in Need.objects.filter(~Exists(held), state__in=SERVED):
        detail = f"It is {need.get_state_display()}, but no set is held for it."
        yield Breach("promised_without_set", need.key, detail)


def sent_without_booking(now: datetime) -> Iterator[Breach]:
    """Every delivery in force to a need that is served holds the very unit that goes."""
    live = sent_by_plan().filter(needs__state__in=SERVED).distinct()
    wrong = Q(booking=None) | Q(booking__cancelled_at__isnull=False)
    for delivery in live.filter(wrong | ~Q(booking__unit=F("unit"))).select_related("unit"):
        detail = "It goes to a need, but is not held."
        yield Breach("sent_without_booking", str(delivery), detail)


def held_for_nobody(now: datetime) -> Iterator[Breach]:
    """No unit stays held for a need that no plan in force sends it to."""
    sent = sent_by_plan().filter(booking=OuterRef("pk"))
    over = (NeedState.NEEDED, NeedState.WITHDRAWN)
    bookings = Booking.objects.filter(order=None, cancelled_at=None, need__state__in=over)
    for booking in bookings.filter(~Exists(sent)).select_related("unit"):
        yield Breach("held_for_nobody", str(booking), "No plan in force sends it anywhere.")


INVARIANTS = (
    Invariant("served_unseen", "no set goes where a person must look first", served_unseen),
    Invariant("promised_without_set", "every served need has its set", promised_without_set),
    Invariant("sent_without_booking", "every set that goes is held", sent_without_booking),
    Invariant("held_for_nobody", "no set is held for nobody", held_for_nobody),
)
