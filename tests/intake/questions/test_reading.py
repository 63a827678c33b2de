"""What people type, as each kind of field takes or refuses it."""

import pytest
from django.http import QueryDict

from intake.questions.answers import Answers
from intake.questions.form import QuestionForm
from intake.questions.load_form import LoadForm
from intake.questions.question import Question
from intake.steps.catalogue import QUESTIONS


def checked(question: Question, text: str) -> tuple[str | None, str]:
    """The value taken, and the sentence where it was refused."""
    data = QueryDict(mutable=True)
    data[question.key] = text
    form = QuestionForm((question,), Answers({}, has_float_switch=True), data)
    form.is_valid()
    sentence = " ".join(form.errors.get(question.key, []))
    return form.cleaned_data.get(question.key), sentence


@pytest.mark.parametrize(
    ("key", "text"),
    [
        ("altitude", "9600"),
        ("altitude", "9,600 ft"),
        ("altitude", " 2900 m "),
        ("altitude", "2926 meters"),
        ("ambient", "90"),
        ("ambient", "90 degF"),
        ("ambient", "32 C"),
        ("ambient", "-10"),
        ("hours_per_day", "7,5"),
        ("hours_per_day", "7.5 h"),
        ("hours_per_day", "24 hours"),
        ("refuel_every", "3 days"),
        ("lead_length", "75'"),
        ("lead_length", "25 m"),
        ("inflow", "200 gpm"),
        ("inflow", "12 L/s"),
        ("pump_rate", "1 1/2 L/s"),
        ("noise_limit", "65 dBA"),
        ("noise_limit", "65 dB"),
        ("zip", " 80424 "),
        ("zip", "80424-1234"),
        ("zip", "804241234"),
        ("hire_start", "06/01/2027"),
        ("hire_start", "2027-06-01"),
        ("lights_until", "11:30 pm"),
        ("lights_until", "23:30"),
        ("lights_until", "11 p.m."),
        ("phone", "(970) 555-0142 ext. 12"),
        ("phone", "970.555.0142"),
        ("phone", "+1 970 555 0142"),
        ("email", "Ann.Field+site@example.com"),
        ("contact_name", "Zoë Ñandú 🚜"),
        ("contact_name", "שלום"),
        ("note", "Robert'); DROP TABLE requests;-- <script>alert(1)</script>"),
    ],
)
def test_what_people_write_is_taken(key: str, text: str) -> None:
    value, sentence = checked(QUESTIONS[key], text)
    assert sentence == ""
    assert value


@pytest.mark.parametrize(
    ("key", "text", "words"),
    [
        ("altitude", "high", "not a number"),
        ("altitude", "9600 lb", "does not fit here"),
        ("altitude", "9600 zorkmids", "do not know the unit"),
        ("altitude", "900000", "cannot be right"),
        ("inflow", "-5", "below zero"),
        ("hours_per_day", "25", "from 0.5 hours to 24 hours"),
        ("refuel_every", "0", "from 1 hours"),
        ("zip", "00000", "no ZIP code 00000"),
        ("zip", "8042", "not a ZIP code"),
        ("zip", "Frisco", "not a ZIP code"),
        ("zip", "８０４２４", "not a ZIP code"),
        ("hire_start", "tomorrow", "not a day"),
        ("hire_start", "2027-02-30", "not a day"),
        ("lights_until", "25:00", "not a time"),
        ("phone", "555-0142", "area code"),
        ("phone", "call me", "not a phone number"),
        ("email", "ann at example", "not an email address"),
        ("contact_name", "x" * 10_000, "10,000 characters; 120 fit here"),
        ("altitude", "9" * 10_000, "characters"),
        ("supply", "600", "Choose one of the answers"),
        ("altitude", "", "Enter the height"),
    ],
)
def test_what_cannot_be_is_refused_with_a_sentence_of_its_own(key, text, words) -> None:
    _value, sentence = checked(QUESTIONS[key], text)
    assert words in sentence


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("460", "Write each number with its unit"),
        ("fast", "Write each number with its unit"),
        ("40,000 hp 460 V 3 ph", "power in “40,000 hp 460 V 3 ph” cannot be right"),
        ("-15 hp 460 V 3 ph", "below zero"),
        ("x" * 10_000, "10,000 characters; 500 fit here"),
        ("", "Type what the nameplate says"),
    ],
)
def test_a_plate_that_cannot_be_is_refused_in_words(text: str, words: str) -> None:
    data = QueryDict(mutable=True)
    data.update({"nameplate": text, "quantity": "1", "name": "Pump"})
    form = LoadForm("lamp", {}, (), data)
    assert not form.is_valid()
    assert words in form.errors["nameplate"][0]


def test_fifteen_horse_is_understood_or_asked_for_again() -> None:
    """A bare "15 horse" gives the power; the volts are then asked for as still missing."""
    data = QueryDict(mutable=True)
    data.update({"nameplate": "15 horse", "quantity": "1", "name": "Pump"})
    form = LoadForm("lamp", {}, (), data)
    assert form.is_valid() or "Write each number with its unit" in form.errors["nameplate"][0]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("0", "Enter 1 or more"),
        ("-4", "Enter 1 or more"),
        ("5000", "up to 500"),
        ("4.5", "not a whole number"),
        ("four", "not a whole number"),
        ("٤", "not a whole number"),
        ("9" * 190, "up to 500"),
    ],
)
def test_a_number_of_pieces_is_a_small_whole_number(text: str, words: str) -> None:
    data = QueryDict(mutable=True)
    data.update({"nameplate": "20 A 120 V 1 ph", "quantity": text, "name": "Tools"})
    form = LoadForm("other", {}, (), data)
    assert not form.is_valid()
    assert words in form.errors["quantity"][0]


def test_not_sure_forgives_whatever_stands_in_the_field() -> None:
    data = QueryDict(mutable=True)
    data.update({"altitude": "junk", "altitude__unsure": "1"})
    form = QuestionForm((QUESTIONS["altitude"],), Answers(), data)
    assert form.is_valid()
    assert form.given()["altitude"].unsure
