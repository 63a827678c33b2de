"""Prices against brute force, hand-worked examples, and sources outside the project."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal as D
from functools import cache

import holidays
import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotes.pricing.days import OWNERS_USUAL_HOLIDAYS, holiday_name
from quotes.pricing.errors import RateMissing, TooHeavyToDeliver
from quotes.pricing.fees import L_IN_A_GALLON, gallons
from quotes.pricing.job import (
    Adjustment,
    Choices,
    Connection,
    Cover,
    Delivery,
    HiredAccessory,
    HiredSet,
    Job,
    Refuelling,
)
from quotes.pricing.money import cents, percent_of
from quotes.pricing.moves import KM_IN_A_MILE, road_miles
from quotes.pricing.period import Covering, Rate, cheapest_covering
from quotes.pricing.price import price
from quotes.pricing.shift import ShiftRule, base_hours, shift_charge
from quotes.pricing.terms import Exemption, Fee, Tax, Terms, Vehicle

# The shapes of card an owner may write, some of them odd: a week dearer than seven days, four
# weeks dearer than four weeks apart, one that is nearly free.
CARDS = [
    Rate(D("210.00"), D("630.00"), D("1785.00")),
    Rate(D("100.00"), D("300.00"), D("900.00")),
    Rate(D("100.00"), D("800.00"), D("1700.00")),
    Rate(D("100.00"), D("300.00"), D("1300.00")),
    Rate(D("99.99"), D("99.99"), D("99.99")),
    Rate(D("0.01"), D("700.00"), D("1.00")),
]


def cheapest_by_brute_force(days: int, rate: Rate) -> D:
    """The least price over every walk of day, week and four-week steps that reaches the days."""

    @cache
    def least(left: int) -> D:
        if left <= 0:
            return D(0)
        steps = ((1, rate.day), (7, rate.week), (28, rate.four_weeks))
        return min(cost + least(left - length) for length, cost in steps)

    for left in range(days):  # from the short end, so that recursion stays shallow
        least(left)
    return least(days)


@pytest.mark.parametrize("rate", CARDS, ids=lambda rate: f"{rate.day}-{rate.week}")
def test_the_covering_is_the_cheapest_for_1_to_400_days(rate: Rate) -> None:
    for days in range(1, 401):
        found = cheapest_covering(days, rate)
        assert found.price == cheapest_by_brute_force(days, rate), days
        assert found.covered_days >= days


@pytest.mark.parametrize(
    ("days", "words"),
    [  # by hand for 210 / 630 / 1785: three days cost a week, nine days a week and two days
        (1, "1 day"),
        (2, "2 days"),
        (3, "3 days"),
        (4, "1 week"),
        (7, "1 week"),
        (9, "1 week + 2 days"),
        (14, "2 weeks"),
        (20, "1 four-week period"),
        (28, "1 four-week period"),
        (30, "1 four-week period + 2 days"),
    ],
)
def test_the_period_is_told_in_words(days: int, words: str) -> None:
    assert cheapest_covering(days, CARDS[0]).words() == words


def test_base_hours_are_8_40_and_160() -> None:
    # Common practice, no source: single shift is 8 h a day, 40 h a week, 160 h in four weeks.
    rule = ShiftRule()
    assert base_hours(Covering(0, 0, 1, D(1)), rule) == 8
    assert base_hours(Covering(0, 1, 0, D(1)), rule) == 40
    assert base_hours(Covering(1, 0, 0, D(1)), rule) == 160


def test_a_176_hour_month_is_the_owners_to_set() -> None:
    # Monthly rate / 176 as the hourly rate: FHWA memo content (US federal-aid highway work).
    rule = ShiftRule(four_week_hours=D(176))
    month = Covering(1, 0, 0, D("1760.00"))
    assert shift_charge(month, D(177), rule).hour_price == D("10.00")


@pytest.mark.parametrize(
    ("hours_a_day", "name", "factor"),
    [(8, "single", D(1)), (16, "double", D("1.5")), (24, "triple", D(2))],
)
def test_double_and_triple_shift_are_one_and_a_half_and_twice(
    hours_a_day: int, name: str, factor: D
) -> None:
    # Common practice, no source: 1.5 x for a second and 2 x for a third shift.
    week = cheapest_covering(5, Rate(D(200), D(600), D(1700)))
    charge = shift_charge(week, D(hours_a_day * 5), ShiftRule())
    assert (charge.name, charge.price) == (name, factor * 600)


@pytest.mark.parametrize(
    ("covering", "divisor"),
    [
        (Covering(0, 0, 1, D(80)), 8),
        (Covering(0, 1, 0, D(400)), 40),
        (Covering(1, 0, 0, D(1600)), 160),
    ],
)
def test_an_hour_over_is_an_eighth_a_fortieth_a_hundred_and_sixtieth(
    covering: Covering, divisor: int
) -> None:
    # Common practice, no source: excess hour = 1/8 day, 1/40 week, 1/160 four-week price.
    base = base_hours(covering, ShiftRule())
    charge = shift_charge(covering, base + 1, ShiftRule())
    assert charge.excess_hours == 1
    assert charge.price == covering.price + covering.price / divisor


def test_hours_between_shifts_are_priced_the_cheapest_way() -> None:
    # By hand: 50 h in a 600.00 week is 40 h + 10 x 15.00 = 750.00, less than double at 900.00.
    week = Covering(0, 1, 0, D("600.00"))
    assert shift_charge(week, D(50), ShiftRule()).price == D("750.00")
    assert shift_charge(week, D(61), ShiftRule()).name == "double"


@pytest.mark.parametrize(
    ("written", "rounded"),
    [
        ("2.344", "2.34"),
        ("2.345", "2.35"),
        ("2.3449", "2.34"),
        ("-2.345", "-2.35"),
        ("0.005", "0.01"),
    ],
)
def test_cents_round_half_away_from_zero(written: str, rounded: str) -> None:
    # decimal.ROUND_HALF_UP of the language's own arithmetic, the usual commercial rounding.
    assert cents(D(written)) == D(rounded)


def test_lines_are_rounded_before_they_are_added() -> None:
    # By hand: three times 2.5 % of 10.10 is 0.2525, rounded 0.25 each, 0.75 in all; not 0.76.
    assert sum(percent_of(D("2.5"), D("10.10")) for _ in range(3)) == D("0.75")


def test_units_of_distance_and_volume_are_exact() -> None:
    # NIST SP 811, appendix B.8: 1 mile = 1 609.344 m, 1 gallon (US) = 3.785 411 784 L, exact.
    assert D("1.609344") == KM_IN_A_MILE
    assert D("3.785411784") == L_IN_A_GALLON
    assert gallons(D("378.5411784")) == 100
    assert gallons(D("378.55")) == 101
    assert road_miles(D("16.09344"), D(1)) == 10


def library_dates(year: int) -> dict[str, date]:
    found = holidays.country_holidays("US", years=year)
    return {name: day for day, name in found.items()}


@pytest.mark.parametrize("year", [2026, 2027, 2028])
@pytest.mark.parametrize("name", OWNERS_USUAL_HOLIDAYS)
def test_holidays_fall_where_the_library_says(year: int, name: str) -> None:
    # holidays library; dates themselves by 5 U.S.C. 6103(a).
    assert holiday_name(library_dates(year)[name], OWNERS_USUAL_HOLIDAYS) == name


@pytest.mark.parametrize(
    ("day", "name"),
    [  # by 5 U.S.C. 6103(a), worked with a paper calendar
        (date(2027, 5, 31), "Memorial Day"),
        (date(2027, 7, 4), "Independence Day"),
        (date(2027, 9, 6), "Labor Day"),
        (date(2027, 11, 25), "Thanksgiving Day"),
        (date(2027, 7, 5), "Independence Day"),  # observed, the fourth being a Sunday
        (date(2027, 6, 1), ""),
    ],
)
def test_holidays_by_hand(day: date, name: str) -> None:
    assert holiday_name(day, OWNERS_USUAL_HOLIDAYS) == name


TRUCK = Vehicle("truck", "One-ton truck", D(5400), D("110.00"), D("3.90"), D(10))
PICKUP = Vehicle("pickup", "Pickup", D(2200), D("75.00"), D("3.10"), D(10))
SET = HiredSet("T60", "60 kW towable set", 1, D("2054.0"), D("440.0"))
TERMS = Terms(
    card="Worked example",
    rates={
        "T60": Rate(D("275.00"), D("825.00"), D("2340.00")),
        "lead": Rate(D("38.00"), D("114.00"), D("320.00")),
        "kit": Rate(D(0), D(0), D(0), once=D("48.00")),
    },
    fees={
        "environmental": Fee(D("2.00"), cap=D("75.00")),
        "damage_waiver": Fee(D("14.00")),
        "fuel_gallon": Fee(D("4.65")),
        "refuel_visit": Fee(D("85.00")),
        "connection_hour": Fee(D("118.00"), quantity=D(3)),
        "weekend_move": Fee(D("95.00")),
        "holiday_move": Fee(D("190.00")),
        "emergency_uplift": Fee(D("8.00"), cap=D("250.00")),
        "deposit": Fee(D("20.00"), minimum=D("250.00")),
    },
    vehicles=(PICKUP, TRUCK),
    taxes=(
        Tax("State", "hire", D("3.0000")),
        Tax("State", "accessory", D("3.0000")),
        Tax("City", "delivery", D("2.4000")),
    ),
    section_m={"lead": D("15.24")},
)


def job(**more: object) -> Job:
    """Nine days from a Tuesday to a Wednesday, eight hours a day, 40 km away."""
    facts: dict[str, object] = {
        "start": date(2027, 6, 1),
        "end": date(2027, 6, 9),
        "sets": (SET,),
        "accessories": (
            HiredAccessory("lead", "Lead set", 1, D("22.9")),
            HiredAccessory("kit", "Ground rod kit", 1),
        ),
        "distance_km": D("40.0"),
    }
    return Job(**{**facts, **more})  # type: ignore[arg-type]


def amounts(a_job: Job, terms: Terms = TERMS) -> dict[str, D]:
    return {line.code: line.amount for line in price(a_job, terms).lines}


def test_a_whole_price_by_hand() -> None:
    """Worked by hand, line by line.

    Period: 9 days as 1 week + 2 days = 825 + 2 x 275 = 1,375.00. Hours: 72 planned, base 40 + 16
    = 56, 16 over at 1375/56: 1375 + 16 x 24.553571... = 1,767.857142... -> 1,767.86; double would
    be 2,062.50. Leads: 22.9 m is two sections of 15.24 m; 114 + 2 x 38 = 190.00 each -> 380.00.
    Kit 48.00. Road: 40 x 1.3 / 1.609344 = 32.31 -> 33 miles, 23 beyond ten: 75 + 23 x 3.10 =
    146.30 a trip. Tank: 440 L = 116.2 -> 117 gal x 4.65 = 544.05. Hired: 2,195.86; waiver 14 % =
    307.4204 -> 307.42; environmental 2 % = 43.9172 -> 43.92.
    """
    sheet = price(job(), TERMS)
    assert {line.code: line.amount for line in sheet.lines} == {
        "T60": D("1767.86"),
        "lead": D("380.00"),
        "kit": D("48.00"),
        "delivery": D("146.30"),
        "collection": D("146.30"),
        "first_tank": D("544.05"),
        "damage_waiver": D("307.42"),
        "environmental": D("43.92"),
    }
    # Net 3,383.85; state 3 % of 2,195.86 = 65.8758 -> 65.88; city 2.4 % of 292.60 = 7.0224 -> 7.02.
    assert sheet.net == D("3383.85")
    assert [tax.amount for tax in sheet.taxes] == [D("65.88"), D("7.02")]
    assert sheet.total == D("3456.75")
    assert sheet.deposit == D("691.35")  # 20 % of 3,456.75 = 691.35


def test_every_line_has_a_step_with_its_reason() -> None:
    sheet = price(job(), TERMS)
    told = {step.line for step in sheet.steps if step.reason}
    assert {line.code for line in sheet.lines} <= told


def test_services_follow_the_choices() -> None:
    # By hand: 18.7 L/h x 8 h is about 150 L a day; 9 x 150 - 440 = 910 L = 240.4 -> 241 gal.
    chosen = Choices(Refuelling.OWNER, Cover.CERTIFICATE, Connection.OWNER)
    found = amounts(job(choices=chosen, fuel_l_per_day=D(150), refuel_visits=2))
    assert found["refuel_visits"] == D("170.00")
    assert found["refuel_diesel"] == D("1120.65")
    assert found["connection"] == D("354.00")
    assert "damage_waiver" not in found


def test_weekend_and_holiday_moves_are_lines_of_their_own() -> None:
    # Saturday 5 June 2027 to Monday 5 July 2027, on which Independence Day is observed.
    found = amounts(job(start=date(2027, 6, 5), end=date(2027, 7, 5)))
    assert found["delivery_weekend_move"] == D("95.00")
    assert found["collection_holiday_move"] == D("190.00")


def test_days_the_owner_gives_free_are_not_charged() -> None:
    # 28 May to 6 June 2027: ten days, two Sundays and Memorial Day free, seven charged: a week.
    given = replace(TERMS, sundays_free=True, holidays_free=True)
    sheet = price(job(start=date(2027, 5, 28), end=date(2027, 6, 6)), given)
    assert "Memorial Day" in next(step.reason for step in sheet.steps if step.line == "period")
    assert sheet.lines[0].why.startswith("7 days as 1 week")


def test_emergency_terms_are_a_capped_line_or_the_reason_they_are_barred() -> None:
    # 8 % of 2,195.86 = 175.6688 -> 175.67; with ten sets the cap of 250.00 holds.
    assert amounts(job(emergency=True))["emergency_uplift"] == D("175.67")
    many = replace(SET, quantity=10)
    assert amounts(job(emergency=True, sets=(many,)))["emergency_uplift"] == D("250.00")
    barred = replace(TERMS, emergency_barred="Not charged in CO while this is declared: flood.")
    sheet = price(job(emergency=True), barred)
    assert "emergency_uplift" not in {line.code for line in sheet.lines}
    assert any("flood" in step.reason for step in sheet.steps)


def test_an_exemption_takes_off_its_kinds_only() -> None:
    held = replace(TERMS, exemption=Exemption("C-1", frozenset({"hire", "accessory"})))
    taxes = {tax.name: (tax.amount, tax.exempt) for tax in price(job(), held).taxes}
    assert taxes == {"State": (D("0.00"), "C-1"), "City": (D("7.02"), "")}


def test_an_adjustment_is_a_line_with_its_reason() -> None:
    sheet = price(job(adjustment=Adjustment(D("-50.00"), "Long-standing customer.")), TERMS)
    line = sheet.lines[-1]
    assert (line.amount, line.why) == (D("-50.00"), "Long-standing customer.")
    assert sheet.net == D("3333.85")


days = st.integers(1, 200)
prices = st.decimals(min_value="0.01", max_value="5000", places=2)


@given(start=st.dates(date(2026, 1, 1), date(2028, 1, 1)), length=days, hours=st.integers(1, 24))
def test_the_total_is_its_lines_and_taxes_and_never_less_for_more_hours(
    start: date, length: int, hours: int
) -> None:
    end = start + timedelta(days=length - 1)
    fewer, more = (
        price(job(start=start, end=end, engine_hours_per_day=D(h)), TERMS)
        for h in (max(1, hours - 1), hours)
    )
    assert more.total == sum(x.amount for x in more.lines) + sum(x.amount for x in more.taxes)
    assert all(line.amount == cents(line.amount) for line in more.lines)
    assert more.total >= fewer.total


@given(length=days, day=prices, week=prices, four_weeks=prices)
def test_a_longer_hire_never_costs_less(length: int, day: D, week: D, four_weeks: D) -> None:
    rate = Rate(day, week, four_weeks)
    shorter, longer = cheapest_covering(length, rate), cheapest_covering(length + 1, rate)
    assert shorter.price <= longer.price <= shorter.price + day


def test_a_customer_who_tows_the_set_pays_no_trip() -> None:
    # By hand: 3,383.85 less two trips of 146.30 is 3,091.25.
    sheet = price(job(choices=Choices(delivery=Delivery.CUSTOMER)), TERMS)
    assert sheet.net == D("3091.25")
    assert any(step.reason == "The customer tows the set." for step in sheet.steps)


def test_a_set_too_heavy_for_every_vehicle_goes_to_a_person() -> None:
    with pytest.raises(TooHeavyToDeliver):
        price(job(sets=(replace(SET, mass_kg=D(9000)),)), TERMS)


def test_a_set_without_a_rate_goes_to_a_person() -> None:
    with pytest.raises(RateMissing):
        price(job(sets=(replace(SET, code="T61"),)), TERMS)


def test_a_larger_set_keeps_the_price_of_the_asked_one() -> None:
    larger = replace(SET, code="T75", name="75 kW towable set", priced_as="T60")
    assert amounts(job(sets=(larger,)))["T75"] == amounts(job())["T60"]
