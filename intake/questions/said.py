"""Answers in words, for the check page, the desk, the mail and the record alike."""

from __future__ import annotations

from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.utils.dateparse import parse_date, parse_time
from django.utils.formats import date_format, time_format
from django.utils.translation import gettext as _

from intake.questions.answers import Given
from intake.questions.question import Kind, Question
from intake.questions.towns import town
from sizing.errors import QuantityRefused
from sizing.quantity import read_number


def said(question: Question, given: Given) -> str:
    """An answer as a person would say it."""
    if given.unsure:
        return _("Not sure")
    if given.empty:
        return _("Not provided")
    values = given.value if isinstance(given.value, list) else [given.value]
    return ", ".join(_one(question, str(value)) for value in values)


def _one(question: Question, text: str) -> str:
    if choice := question.choice(text):
        return str(choice.label)
    if question.kind is Kind.QUANTITY:
        return _with_unit(question, text)
    if question.kind is Kind.DATE and (day := parse_date(text)):
        return day_said(day)
    if question.kind is Kind.TIME and (moment := parse_time(text)):
        return time_format(moment, "TIME_FORMAT")
    if question.kind is Kind.ZIP and (named := town(text)):
        return f"{text} ({named})"
    return text


def day_said(day: date) -> str:
    """A day with its weekday, as the reader's language writes it."""
    return f"{date_format(day, 'l')}, {date_format(day, 'DATE_FORMAT')}"


def moment_said(moment: datetime, zone: ZoneInfo) -> str:
    """A moment on the clock of the site."""
    here = moment.astimezone(zone)
    return f"{day_said(here.date())}, {time_format(here.time(), 'TIME_FORMAT')}"


def _with_unit(question: Question, text: str) -> str:
    assert question.measure is not None
    try:
        read_number(text)
    except QuantityRefused:
        return text
    return f"{text} {question.measure.shown}"
