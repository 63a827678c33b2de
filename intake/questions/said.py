"""Answers in words, for the check page, the desk, the mail and the record alike."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from zoneinfo import ZoneInfo

from django.utils.dateparse import parse_date, parse_time
from django.utils.formats import date_format, time_format
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from intake.questions.answers import Given
from intake.questions.question import Kind, Question
from intake.questions.towns import town
from sizing.errors import QuantityRefused
from sizing.quantity import read_number


@dataclass(frozen=True, slots=True)
class _Words:
    """A question's choices in a language, by their values, and its unit."""

    choices: Mapping[str, str]
    unit: str


def said(question: Question, given: Given) -> str:
    """An answer as a person would say it."""
    return _said(question, given, get_language() or "")


def all_said(answers: Iterable[tuple[Question, Given]]) -> list[str]:
    """Each answer as a person would say it."""
    language = get_language() or ""
    return [_said(question, given, language) for question, given in answers]


def _said(question: Question, given: Given, language: str) -> str:
    if given.unsure or given.empty:
        return _unsaid(given.unsure, language)
    words = (_kept_words if question.fixed else _words)(question, language)
    values = given.value if isinstance(given.value, list) else [given.value]
    return ", ".join([_one(question, str(value), words, language) for value in values])


@lru_cache(maxsize=64)
def _unsaid(unsure: bool, language: str) -> str:
    return _("Not sure") if unsure else _("Not provided")


def _words(question: Question, language: str) -> _Words:
    return _Words(
        {choice.value: str(choice.label) for choice in question.choices},
        str(question.measure.shown) if question.measure else "",
    )


@lru_cache(maxsize=1024)
def _kept_words(question: Question, language: str) -> _Words:
    return _words(question, language)


def _one(question: Question, text: str, words: _Words, language: str) -> str:
    if text in words.choices:
        return words.choices[text]
    if question.kind is Kind.QUANTITY:
        return _with_unit(text, words.unit)
    if question.kind is Kind.DATE and (day := parse_date(text)):
        return _day_said(day, language)
    if question.kind is Kind.TIME and (moment := parse_time(text)):
        return time_format(moment, "TIME_FORMAT")
    if question.kind is Kind.ZIP and (named := town(text)):
        return f"{text} ({named})"
    return text


def day_said(day: date) -> str:
    """A day with its weekday, as the reader's language writes it."""
    return _day_said(day, get_language() or "")


@lru_cache(maxsize=2048)
def _day_said(day: date, language: str) -> str:
    return f"{date_format(day, 'l')}, {date_format(day, 'DATE_FORMAT')}"


def moment_said(moment: datetime, zone: ZoneInfo) -> str:
    """A moment on the clock of the site."""
    here = moment.astimezone(zone)
    return f"{day_said(here.date())}, {time_format(here.time(), 'TIME_FORMAT')}"


def _with_unit(text: str, unit: str) -> str:
    try:
        read_number(text)
    except QuantityRefused:
        return text
    return f"{text} {unit}"
