"""Sign-off, units, swap, service cases: kept once, complete, with the record."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from intake.models import Event, OutboxMessage
from intake.requests.errors import AnswerRefused, LinkRefused
from quotes.handover.calls import MOST_AN_HOUR, Caller, service_case_close, service_case_open
from quotes.handover.errors import (
    AlreadySigned,
    PathRefused,
    SignOffIncomplete,
    SwapRefused,
    TooManyReports,
)
from quotes.handover.sign_photos import sign_off_photos_again
from quotes.handover.signing import sign_off_receive
from quotes.handover.units import unit_by_token, unit_swap, unit_token, units_for_swap
from quotes.models import OutUnit, ServiceCase, SignOff, SignOffPhoto, Tick
from tests.disk import FULL, files_below
from tests.quotes.handover.walking import (
    DELIVERED,
    days,
    driver,
    ordered,
    out_of,
    picture,
    sign,
    signed_for,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("company")]


@pytest.fixture(autouse=True)
def _media(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = str(tmp_path)


def test_an_order_opens_its_units_with_a_token_that_is_not_stored() -> None:
    order = ordered()
    out = out_of(order)
    token = unit_token(order.number, out.unit.number, 1)
    assert unit_by_token(token) == out
    assert token not in str(list(OutUnit.objects.values()))
    assert len(token) == 43  # 256 bits, base64url
    with pytest.raises(LinkRefused):
        unit_by_token(token[:-1] + "x" if token[-1] != "x" else token[:-1] + "y")


def test_a_sign_off_keeps_each_tick_with_who_made_it() -> None:
    made = sign(out_of(ordered()))
    by = set(made.ticks.values_list("by", flat=True))
    assert by == {"Dee", "Ed Wire", "Ada Story"}
    assert all(made.ticks.values_list("done", flat=True))
    assert made.ticks.get(item_key="selector").text.startswith("Selector at 480Y/277")


def test_the_same_sign_off_sent_again_is_not_doubled() -> None:
    out = out_of(ordered())
    signed = signed_for(out)
    sent = {"out_unit_id": out.pk, "signed": signed, "photos": {}, "driver": driver()}
    first, new = sign_off_receive(**sent, now=DELIVERED)
    again, newly = sign_off_receive(**sent, now=days(1))
    assert (new, newly, first) == (True, False, again)
    assert SignOff.objects.count() == 1
    assert Event.objects.filter(kind="unit_delivered").count() == 1


def test_another_sign_off_of_the_same_kind_is_refused() -> None:
    out = out_of(ordered())
    sign(out)
    with pytest.raises(AlreadySigned):
        sign(out)


@pytest.mark.parametrize("key", ["selector", "gfci", "emergency_stop", "brakes", "volts"])
def test_what_must_be_done_stops_the_sign_off(key: str) -> None:
    out = out_of(ordered())
    signed = signed_for(out)
    with pytest.raises(SignOffIncomplete) as refused:
        sign(out, ticked=signed.ticked - {key})
    assert list(refused.value.data["problems"]) == [key]
    assert not Tick.objects.exists()


def test_what_is_advice_may_stay_open() -> None:
    out = out_of(ordered())
    made = sign(out, ticked=signed_for(out).ticked - {"worst_start"})
    assert not made.ticks.get(item_key="worst_start").done


def test_whoever_connected_it_is_named() -> None:
    with pytest.raises(SignOffIncomplete) as refused:
        sign(out_of(ordered()), connector=" ")
    assert list(refused.value.data["problems"]) == ["connector"]


def test_a_phone_with_a_fast_clock_does_not_sign_in_the_future() -> None:
    made = sign(out_of(ordered()), now=DELIVERED, signed_at=days(3))
    assert made.signed_at == DELIVERED


def test_photos_are_made_anew_and_kept_with_the_sign_off() -> None:
    out = out_of(ordered())
    photos = {"fuel": [picture()], "condition": [picture(), picture()]}
    sign_off_receive(
        out_unit_id=out.pk, signed=signed_for(out), photos=photos, driver=driver(), now=DELIVERED
    )
    subjects = list(SignOffPhoto.objects.values_list("subject", flat=True))
    assert subjects == ["fuel", "condition", "condition"]


def test_a_full_disk_costs_the_photos_and_never_the_signature(settings: Any) -> None:
    """The photos are named as missing; the same sign-off sent again brings them, once."""
    out, room = out_of(ordered()), settings.STORAGES
    sent: dict[str, Any] = {"out_unit_id": out.pk, "signed": signed_for(out), "driver": driver()}
    photos = {"fuel": [picture("gray")], "condition": [picture("red"), picture("red")]}
    settings.STORAGES = {**room, "default": FULL}
    made, new = sign_off_receive(**sent, photos=photos, now=DELIVERED)
    assert (new, made.name, made.ticks.exists()) == (True, "Ada Story", True)
    assert made.missing_subjects == ["fuel", "condition", "condition"]
    assert not SignOffPhoto.objects.exists()
    assert not files_below(settings.MEDIA_ROOT)
    settings.STORAGES = room
    for _time in range(2):
        again, new = sign_off_receive(**sent, photos=photos, now=days(1))
    assert (again, new, again.photos_missing) == (made, False, [])
    assert sorted(made.photos.values_list("subject", flat=True)) == ["condition"] * 2 + ["fuel"]


def test_photos_taken_anew_take_the_place_of_missing_ones_and_no_more(settings: Any) -> None:
    out, room = out_of(ordered()), settings.STORAGES
    signed = signed_for(out)
    settings.STORAGES = {**room, "default": FULL}
    sign_off_receive(
        out_unit_id=out.pk, signed=signed, photos={"condition": [picture("red")]},
        driver=driver(), now=DELIVERED,
    )  # fmt: skip
    settings.STORAGES = room
    known = {"out_unit_id": out.pk, "kind": signed.kind}
    anew: Any = {"condition": [picture("blue"), picture("red")], "fuel": [picture("gray")]}
    with pytest.raises(AlreadySigned):
        sign_off_photos_again(**known, client_key=str(uuid4()), photos=anew)
    made = sign_off_photos_again(**known, client_key=str(signed.client_key), photos=anew)
    assert made.photos_missing == []
    assert made.photos.get().subject == "condition"


def test_a_file_that_is_no_photo_stops_it_and_nothing_is_kept() -> None:
    out = out_of(ordered())
    bad = {"fuel": [SimpleUploadedFile("a.jpg", b"not a photo", "image/jpeg")]}
    with pytest.raises(AnswerRefused):
        sign_off_receive(
            out_unit_id=out.pk, signed=signed_for(out), photos=bad, driver=driver(), now=DELIVERED
        )
    assert not SignOff.objects.exists()


def test_on_return_what_is_not_in_order_needs_a_word() -> None:
    out = out_of(ordered())
    sign(out)
    ticked = signed_for(out, "return").ticked - {"body"}
    with pytest.raises(SignOffIncomplete):
        sign(out, "return", now=days(5), ticked=ticked)
    made = sign(out, "return", now=days(5), ticked=ticked, notes={"body": "Left door bent."})
    assert made.ticks.get(item_key="body").note == "Left door bent."
    out.refresh_from_db()
    assert out.ended_at == days(5)


def test_a_swap_keeps_the_old_units_record_and_closes_its_page() -> None:
    order = ordered()
    out = out_of(order)
    sign(out)
    other = units_for_swap(out, days(2))[0]
    fresh = unit_swap(
        out_unit_id=out.pk, unit_number=other.number, reason="Coolant leak", actor=driver(),
        now=days(2),
    )  # fmt: skip
    out.refresh_from_db()
    assert (fresh.replaces, fresh.order, fresh.position) == (out, order, out.position)
    assert (out.end_reason, out.sign_offs.count()) == ("Coolant leak", 1)
    assert fresh.booking.ends_on == order.quote.ends_on
    assert out.booking.__class__.objects.get(pk=out.booking_id).ends_on == days(2).date()
    with pytest.raises(LinkRefused):
        unit_by_token(unit_token(order.number, out.unit.number, 1))


def test_a_swap_takes_only_a_free_unit_and_only_once() -> None:
    out = out_of(ordered())
    with pytest.raises(SwapRefused):
        unit_swap(out_unit_id=out.pk, unit_number="NOPE", reason="-", actor=driver(), now=days(1))
    number = units_for_swap(out, days(1))[0].number
    unit_swap(out_unit_id=out.pk, unit_number=number, reason="-", actor=driver(), now=days(1))
    with pytest.raises(SwapRefused):
        unit_swap(out_unit_id=out.pk, unit_number=number, reason="-", actor=driver(), now=days(1))


PATH = "danger.no~symptom.nothing~pressed.out~disconnect.on~display.dark"


def test_a_walk_opens_a_service_case_with_its_path_once() -> None:
    out, key = out_of(ordered()), uuid4()
    for _time in range(2):
        made = service_case_open(
            out=out, path=PATH, client_key=key, caller=Caller("Bo", "555", "Dark."), now=DELIVERED
        )
    assert (ServiceCase.objects.count(), made.path, made.end) == (1, PATH, "call_dark")
    assert made.path_words[-1] == [
        "Is the controller's display lit when you switch the controller on?",
        "No, it stays dark",
    ]
    assert OutboxMessage.objects.filter(topic="quotes.mail_service_case").count() == 1


def test_a_solved_walk_is_kept_closed_and_nobody_is_woken() -> None:
    path = "danger.no~symptom.nothing~pressed.released"
    made = service_case_open(
        out=out_of(ordered()), path=path, client_key=uuid4(), caller=Caller(), now=DELIVERED
    )
    assert (made.state, made.kind) == ("closed", "solved")
    assert not OutboxMessage.objects.filter(topic="quotes.mail_service_case").exists()


def test_a_walk_that_is_not_at_its_end_opens_nothing() -> None:
    with pytest.raises(PathRefused):
        service_case_open(
            out=out_of(ordered()), path="danger.no", client_key=uuid4(), caller=Caller(),
            now=DELIVERED,
        )  # fmt: skip
    assert not ServiceCase.objects.exists()


def test_the_desk_is_not_buried_by_whoever_scanned_the_code() -> None:
    out = out_of(ordered())
    call = {"out": out, "path": "danger.yes", "caller": Caller(), "now": DELIVERED}
    for _time in range(MOST_AN_HOUR):
        service_case_open(**call, client_key=uuid4())
    with pytest.raises(TooManyReports):
        service_case_open(**call, client_key=uuid4())
    service_case_open(**call, client_key=uuid4(), staff=driver())
    later = {**call, "now": DELIVERED + timedelta(hours=2)}
    assert service_case_open(**later, client_key=uuid4()).kind == "emergency"


def test_a_case_is_closed_once_with_what_it_was() -> None:
    made = service_case_open(
        out=out_of(ordered()), path=PATH, client_key=uuid4(), caller=Caller(), now=DELIVERED
    )
    close = {"case_id": made.pk, "actor": driver(), "now": DELIVERED + timedelta(hours=2)}
    assert service_case_close(**close, resolution="New battery.")
    assert not service_case_close(**close, resolution="Again.")
    made.refresh_from_db()
    assert made.resolution == "New battery."


def test_replacing_a_signed_record_is_impossible() -> None:
    out = out_of(ordered())
    signed = signed_for(out)
    sign(out, client_key=signed.client_key)
    other = replace(signed, name="Somebody Else")
    kept, new = sign_off_receive(
        out_unit_id=out.pk, signed=other, photos={}, driver=driver(), now=days(1)
    )
    assert (kept.name, new) == ("Ada Story", False)
