"""The sign-off as a phone sends it: once, however often it is sent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from uuid import UUID

from django.contrib.auth.models import User
from django.db import transaction
from django.utils.translation import gettext as _

from intake.events.services import event_record
from quotes.handover.checklist import Item, items_of
from quotes.handover.errors import AlreadySigned, SignOffIncomplete
from quotes.handover.sign_photos import Mark, Photos, photos_keep, photos_taken
from quotes.handover.units import WITH_ALL, job_of_unit
from quotes.models import OutUnit, SignOff, SignOffKind, Tick, Unit


@dataclass(frozen=True, slots=True)
class Signed:
    """What was entered on the phone."""

    client_key: UUID
    kind: str
    name: str
    engine_hours: Decimal
    fuel_percent: int
    signed_at: datetime
    role: str = ""
    connector: str = ""
    note: str = ""
    ticked: frozenset[str] = frozenset()
    notes: Mapping[str, str] = field(default_factory=dict)
    accessories: Mapping[str, int] = field(default_factory=dict)


def sign_off_receive(
    *, out_unit_id: int, signed: Signed, photos: Photos, driver: User, now: datetime
) -> tuple[SignOff, bool]:
    """Keep a sign-off and say whether it is new; the same one sent again is found, not doubled.

    1. A key that is known is answered with what is kept. 2. Photos are made anew before anything
    is written. 3. Record, ticks and event in one transaction; of two at once one wins. It names
    every photo as missing. 4. Photo after photo is kept and no longer missing; where there is no
    room for one, the sign-off stands, and the same one sent again brings what it misses.
    """
    known = _known(out_unit_id, signed)
    if known is not None:
        photos_keep(known, photos_taken(photos) if known.photos_missing else [])
        return known, False
    out = OutUnit.objects.select_related(*WITH_ALL).get(pk=out_unit_id)
    items = items_of(job_of_unit(out), signed.kind)
    _refuse_incomplete(out, items, signed)
    taken = photos_taken(photos)
    with transaction.atomic():
        out.ended_at = OutUnit.objects.select_for_update(of=("self",)).get(pk=out.pk).ended_at
        known = made = _known(out_unit_id, signed)
        if made is None:
            _refuse_incomplete(out, items, signed)  # it may have been swapped meanwhile
            made = _write(out, items, signed, [one.mark for one in taken], driver, now)
    photos_keep(made, taken)
    return made, known is None


def _known(out_unit_id: int, signed: Signed) -> SignOff | None:
    """The same sign-off where it is kept; ``AlreadySigned`` where another one is."""
    found = SignOff.objects.filter(out_unit_id=out_unit_id, kind=signed.kind).first()
    if found is not None and found.client_key != signed.client_key:
        raise AlreadySigned
    return found


def _refuse_incomplete(out: OutUnit, items: Mapping[str, Item], signed: Signed) -> None:
    """What must be ticked is ticked; on return, what is not in order has a note."""
    delivery = signed.kind == SignOffKind.DELIVERY
    open_ = [item for item in items.values() if item.must and item.key not in signed.ticked]
    if not delivery:
        open_ = [item for item in open_ if not signed.notes.get(item.key, "").strip()]
    problems = {item.key: [_open_sentence(item, delivery)] for item in open_}
    if any(item.by == "connector" for item in items.values()) and not signed.connector.strip():
        problems["connector"] = [_("Enter who connected the set.")]
    if out.ended_at is not None and delivery:
        problems["name"] = [_("This unit was swapped; sign for the one in its place.")]
    if problems:
        raise SignOffIncomplete(_("Some items are still open."), problems=problems)


def _open_sentence(item: Item, delivery: bool) -> str:
    if delivery:
        return _("Do this, then tick it: %s") % item.text
    return _("Tick this or say what is wrong: %s") % item.text


def _write(
    out: OutUnit,
    items: Mapping[str, Item],
    signed: Signed,
    missing: list[Mark],
    driver: User,
    now: datetime,
) -> SignOff:
    made = SignOff(
        out_unit=out,
        kind=signed.kind,
        client_key=signed.client_key,
        name=signed.name,
        role=signed.role,
        connector=signed.connector,
        driver=driver,
        engine_hours=signed.engine_hours,
        fuel_percent=signed.fuel_percent,
        note=signed.note,
        accessories=dict(signed.accessories),
        photos_missing=missing,
        signed_at=min(signed.signed_at, now),
        received_at=now,
    )
    made.full_clean(exclude=["out_unit", "driver"])
    made.save(force_insert=True)
    Tick.objects.bulk_create(_ticks(made, items, signed, driver))
    Unit.objects.filter(pk=out.unit_id, engine_hours__lt=int(signed.engine_hours)).update(
        engine_hours=int(signed.engine_hours)
    )
    if signed.kind == SignOffKind.RETURN:
        OutUnit.objects.filter(pk=out.pk, ended_at=None).update(ended_at=now, end_reason="returned")
    event_record(
        kind=f"unit_{'delivered' if signed.kind == SignOffKind.DELIVERY else 'returned'}",
        now=now,
        actor=driver,
        request=out.order.request,
        subject=out.unit.number,
        name=signed.name,
        hours=str(signed.engine_hours),
        fuel=signed.fuel_percent,
    )
    return made


def _ticks(made: SignOff, items: Mapping[str, Item], signed: Signed, driver: User) -> list[Tick]:
    who = {
        "driver": driver.get_full_name() or driver.get_username(),
        "connector": signed.connector,
        "receiver": signed.name,
    }
    return [
        Tick(
            sign_off=made,
            position=position,
            item_key=item.key,
            text=item.text[:400],
            done=item.key in signed.ticked,
            by=who[item.by],
            note=signed.notes.get(item.key, "")[:300],
        )
        for position, item in enumerate(items.values())
    ]
