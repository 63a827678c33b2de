"""During the hire and after: readings against the plan, a new last day, the final statement."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest

from intake.models import OutboxMessage
from quotes.handover.changing import (
    change_agree,
    change_propose,
    job_until,
    last_charged_day,
    terms_of,
)
from quotes.handover.errors import ChangeRefused, PriceMoved, ReadingRefused, StatementRefused
from quotes.handover.plan import Plan, Seen, notes_on
from quotes.handover.readings import Entered, burn_at, plan_of, reading_add
from quotes.handover.settling import (
    Charge,
    missing_accessories,
    sent_accessories,
    statement_draft,
    statement_make,
)
from quotes.handover.units import unit_swap, units_for_swap
from quotes.models import Booking, HireChange, Order, Reading, Statement
from quotes.pricing.price import price
from tests.quotes.cast import NOW
from tests.quotes.handover.jobs import fleet
from tests.quotes.handover.walking import HOURS, days, driver, ordered, out_of, sign

PLAN = Plan(
    site_kw=50, running_hours_per_day=24, burn_l_h=6, light_burn_l_h=5, tank_l=440, reserve_l=44,
    visit_every_h=None, ends_at=days(13),
)  # fmt: skip


def seen(day: float, hours: float, fuel: float, **more: Any) -> Seen:
    return Seen(days(day), hours, fuel, **more)


def codes(plan: Plan, *readings: Seen) -> set[str]:
    return {note.code for note in notes_on(plan, readings)}


def test_a_first_reading_says_nothing() -> None:
    assert codes(PLAN, seen(0, 1200, 100)) == set()


# 30 % of 50 kW is 15 kW; NFPA 110, 8.4.2.
@pytest.mark.parametrize(("load_kw", "light"), [(14.9, True), (15.0, False), (15.1, False)])
def test_light_load_by_the_display(load_kw: float, light: bool) -> None:
    found = codes(PLAN, seen(0, 1200, 100), seen(0.5, 1212, 84, load_kw=load_kw))
    assert ("light_load" in found) == light


# 440 L x used % / hours against 5 L/h at 30 %.
@pytest.mark.parametrize(("fuel", "light"), [(95, True), (80, False)])
def test_light_load_by_what_was_burnt(fuel: float, light: bool) -> None:
    found = codes(PLAN, seen(0, 1200, 100), seen(0.5, 1212, fuel))
    assert ("light_load" in found) == light


def test_a_gauge_is_not_judged_after_an_hour_or_a_filling() -> None:
    assert "light_load" not in codes(PLAN, seen(0, 1200, 100), seen(0.05, 1201, 99))
    filled = seen(0.5, 1212, 100, filled=True)
    assert "light_load" not in codes(PLAN, seen(0, 1200, 100), filled)


@pytest.mark.parametrize(("hours", "more"), [(1216, False), (1217, False), (1226, True)])
def test_more_hours_than_planned(hours: float, more: bool) -> None:
    # 8 h a day planned, two days gone: 16 h, with 5 % and an hour of tolerance.
    plan = Plan(50, 8, 6, 5, 440, 44, None, days(13))
    found = codes(plan, seen(0, 1200, 100), seen(2, hours, 70))
    assert ("more_hours" in found) == more


# 44 L are out of reach: 15 % of 440 L leaves 22 L, under a day at 6 L/h; 60 % leaves 220 L, 36 h.
@pytest.mark.parametrize(("fuel", "dry"), [(15, True), (60, False)])
def test_the_tank_runs_dry_within_a_day(fuel: float, dry: bool) -> None:
    assert ("runs_dry" in codes(PLAN, seen(0, 1200, 100), seen(2, 1248, fuel))) == dry


def test_the_tank_must_last_to_our_next_visit() -> None:
    # Filled on day 0, visits every 48 h: on day 1.5 there are 12 h x 6 L = 72 L to bridge.
    plan = Plan(50, 24, 6, 5, 440, 44, 48, days(13))
    short, enough = seen(1.5, 1236, 24), seen(1.5, 1236, 50)
    assert "runs_dry" in codes(plan, seen(0, 1200, 100), short)
    assert "runs_dry" not in codes(plan, seen(0, 1200, 100), enough)


def test_burn_is_read_between_the_quarters_of_the_record() -> None:
    t60 = fleet()["T60"]  # 6.8, 11, 14.4 and 18.2 L/h at 15, 30, 45 and 60 kW
    assert burn_at(t60, 15) == pytest.approx(6.8)
    assert burn_at(t60, 22.5) == pytest.approx(8.9)
    assert burn_at(t60, 60) == pytest.approx(18.2)


def entered(hours: str, fuel: int, **more: Any) -> Entered:
    return Entered(uuid4(), Decimal(hours), fuel, **more)


def read(order: Order, what: Entered, at: datetime) -> Reading:
    made, _new = reading_add(
        out_unit_id=out_of(order).pk, entered=what, by="Ada", actor="customer", now=at
    )
    return made


@pytest.mark.django_db
@pytest.mark.usefixtures("company")
class TestReadings:
    def test_a_reading_is_kept_once_with_its_notes_and_both_sides_are_told(self) -> None:
        order = ordered()
        sign(out_of(order))
        what = entered("1224", 90, load_kw=Decimal(12))
        first = read(order, what, days(1))
        assert read(order, what, days(1)) == first
        assert [code for code, _text in first.notes] == ["light_load"]
        assert "12 kW" in first.notes[0][1]
        assert OutboxMessage.objects.filter(topic="quotes.mail_hire_note").count() == 1

    @pytest.mark.parametrize("hours", ["1199.9", "1226"])
    def test_a_meter_runs_neither_back_nor_faster_than_the_clock(self, hours: str) -> None:
        order = ordered()
        sign(out_of(order))
        with pytest.raises(ReadingRefused):
            read(order, entered(hours, 90), days(1))

    def test_readings_start_with_the_sign_off(self) -> None:
        with pytest.raises(ReadingRefused):
            read(ordered(), entered("1224", 90), days(1))

    def test_the_plan_is_the_quotes(self) -> None:
        plan = plan_of(out_of(ordered()))
        assert (plan.running_hours_per_day, plan.tank_l) == (24, 440)
        assert plan.visit_every_h is None
        assert plan.burn_l_h == pytest.approx(147.6 / 24, abs=0.5)


def test_a_set_called_off_by_the_cutoff_is_free_that_day() -> None:
    day, ten = date(2027, 6, 10), time(10)
    at = time(9, 59)
    assert last_charged_day(day, at, ten) == day - timedelta(days=1)
    assert last_charged_day(day, ten, ten) == day - timedelta(days=1)
    assert last_charged_day(day, time(10, 1), ten) == day
    assert last_charged_day(day, None, ten) == day


def agree(order: Order, to_end: date, now: datetime = NOW, **more: Any) -> HireChange:
    fresh = Order.objects.get(pk=order.pk)
    difference = change_propose(order=fresh, to_end=to_end, now=now).difference
    usual = {"difference": difference, "name": "Ada", "client_key": uuid4()}
    return change_agree(order_id=order.pk, to_end=to_end, now=now, **{**usual, **more})


END = date(2027, 6, 14)  # of the dewatering story: 14 days, two weeks


@pytest.mark.django_db
@pytest.mark.usefixtures("company")
class TestChanges:
    def test_the_new_price_is_the_price_of_the_longer_hire(self) -> None:
        order = ordered()
        proposal = change_propose(order=order, to_end=date(2027, 6, 21), now=days(3))
        whole = price(job_until(order.quote, date(2027, 6, 21)), terms_of(order.quote))
        assert proposal.total == order.quote.total + proposal.difference
        assert abs(proposal.total - whole.total) <= Decimal("0.02")  # taxes round once more
        assert proposal.difference > 0

    def test_agreeing_holds_the_unit_longer_and_once(self) -> None:
        order, key = ordered(), uuid4()
        to_end = date(2027, 6, 21)
        first = agree(order, to_end, client_key=key)
        again = change_agree(
            order_id=order.pk, to_end=to_end, difference=first.difference, name="Ada",
            client_key=key, now=NOW,
        )  # fmt: skip
        assert (first, HireChange.objects.count()) == (again, 1)
        assert Booking.objects.get(order=order).ends_on == to_end

    def test_a_price_that_was_not_shown_is_not_agreed(self) -> None:
        with pytest.raises(PriceMoved):
            agree(ordered(), date(2027, 6, 21), difference=Decimal("1.00"))
        assert not HireChange.objects.exists()

    def test_off_hire_never_costs_more_than_the_days_used(self) -> None:
        order = ordered()
        early = agree(order, date(2027, 6, 7), days(3))
        assert (early.kind, early.difference < 0) == ("off_hire", True)
        assert Booking.objects.get(order=order).ends_on == date(2027, 6, 7)

    def test_extending_and_coming_back_to_the_same_day_costs_nothing(self) -> None:
        order = ordered()
        agree(order, date(2027, 6, 21))
        back = agree(order, END)
        assert back.total == order.quote.total

    def test_a_unit_promised_to_the_next_hire_is_not_extended(self) -> None:
        order = ordered()
        hire = {"start": "2027-06-18", "end": "2027-06-25"}
        nexts = ordered(hire=hire)
        Booking.objects.filter(order=nexts).update(unit=out_of(order).unit)
        with pytest.raises(ChangeRefused):
            agree(order, date(2027, 6, 17))
        agree(order, date(2027, 6, 16))  # a day in the yard before the 18th

    @pytest.mark.parametrize("to_end", [END, date(2027, 5, 31), date(2029, 1, 1)])
    def test_what_needs_a_person_is_refused(self, to_end: date) -> None:
        with pytest.raises(ChangeRefused):
            agree(ordered(), to_end)


def returned(order: Order, *, hours: str, fuel: int, **more: Any) -> None:
    out = out_of(order)
    sign(out)
    counted = more.pop("accessories", dict(sent_accessories(order.quote)))
    sign(
        out, "return", now=days(13), engine_hours=Decimal(hours), fuel_percent=fuel,
        accessories=counted, **more,
    )  # fmt: skip


def make(order: Order, *charges: Charge) -> Statement:
    return statement_make(order_id=order.pk, charges=charges, actor=driver(), now=days(14))


@pytest.mark.django_db
@pytest.mark.usefixtures("company")
class TestStatement:
    def test_everything_back_as_planned_costs_what_was_quoted_less_the_diesel(self) -> None:
        order = ordered()
        returned(order, hours=str(HOURS + 300), fuel=100)
        made = make(order)
        lines = {line.code: line for line in made.lines.all()}
        credit = lines[f"tank_back_{out_number(order)}"]
        # 440 L / 3.785411784 = 116.2 gal, charged as 117 whole ones on delivery
        assert credit.quantity == Decimal(-117)
        assert credit.amount == -lines["first_tank"].amount
        assert made.net == order.quote.net + credit.amount
        order.refresh_from_db()
        assert order.state == "off_hire"
        assert made.due == made.total - order.quote.deposit

    def test_every_line_is_explained(self) -> None:
        order = ordered()
        agree(order, date(2027, 6, 17))
        returned(order, hours=str(HOURS + 400), fuel=30)
        made = make(order)
        assert all(line.why for line in made.lines.all())
        assert {line.part for line in made.lines.all()} == {"agreed", "changed", "settled"}
        assert made.net == sum(line.amount for line in made.lines.all())
        assert made.tax == sum(Decimal(tax["amount"]) for tax in made.taxes)

    def test_hours_beyond_the_plan_are_charged_and_fewer_not_paid_back(self) -> None:
        beyond = ordered("jobsite_trailer")
        job = job_until(beyond.quote, beyond.quote.ends_on)
        assert job.engine_hours_per_day < 12
        whole = job.engine_hours_per_day * ((job.end - job.start).days + 1)
        returned(beyond, hours=str(HOURS + 2 * whole), fuel=0)
        parts = [part for part, _line in statement_draft(beyond).lines]
        assert "settled" in parts
        fewer = ordered("dewatering")
        returned(fewer, hours=str(HOURS + 1), fuel=0)
        assert "settled" not in [part for part, _line in statement_draft(fewer).lines]

    def test_a_missing_piece_needs_a_charge_or_a_reason(self) -> None:
        order = ordered()
        counted = {**sent_accessories(order.quote), "cable_ramp": 3}
        returned(order, hours=str(HOURS + 10), fuel=0, accessories=counted)
        assert {code: count for code, (_n, count) in missing_accessories(order).items()} == {
            "cable_ramp": 1
        }
        with pytest.raises(StatementRefused):
            make(order)
        made = make(order, Charge("cable_ramp", "Cable ramp", Decimal("85"), "One did not return."))
        assert made.lines.get(code="cable_ramp", part="settled").amount == Decimal("85.00")

    def test_a_unit_still_out_stops_the_statement(self) -> None:
        order = ordered()
        sign(out_of(order))
        with pytest.raises(StatementRefused):
            make(order)

    def test_after_a_swap_what_was_burnt_from_both_tanks_is_paid_once(self) -> None:
        order = ordered()
        out = out_of(order)
        sign(out)
        number = units_for_swap(out, days(2))[0].number
        unit_swap(
            out_unit_id=out.pk, unit_number=number, reason="Leak", actor=driver(), now=days(2)
        )
        counted = dict(sent_accessories(order.quote))
        sign(out, "return", now=days(2), fuel_percent=80, engine_hours=HOURS + 30)
        fresh = out_of(order)
        sign(fresh, now=days(2), fuel_percent=100)
        sign(fresh, "return", now=days(13), fuel_percent=70, accessories=counted)
        lines = {line.code: line for line in make(order).lines.all()}
        # Of tanks of 117 gal, 20 % and 30 % were burnt; one full tank was charged.
        assert lines[f"tank_back_{out.unit.number}"].quantity == Decimal("-93.60")
        assert lines[f"tank_back_{fresh.unit.number}"].quantity == Decimal("35.10")

    def test_it_is_made_once(self) -> None:
        order = ordered()
        returned(order, hours=str(HOURS + 10), fuel=0)
        make(order)
        with pytest.raises(StatementRefused):
            make(order)


def out_number(order: Order) -> str:
    return order.out_units.get().unit.number
