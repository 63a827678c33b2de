"""Answers that must agree with each other, or with the day they are given."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import Any

from django.utils.translation import gettext_lazy as _

from intake.steps.step import Problems

LONGEST_HIRE_DAYS = 3 * 366
FURTHEST_DAYS = 2 * 366


def dates_agree(values: Mapping[str, Any], today: date) -> Problems:
    """A hire starts today or later, ends after it starts, and is within the years we plan for."""
    start, end = _day(values.get("hire_start")), _day(values.get("hire_end"))
    problems: Problems = {}
    if start and start < today:
        problems["hire_start"] = _("The first day is in the past. Enter today or a later day.")
    elif start and (start - today).days > FURTHEST_DAYS:
        problems["hire_start"] = _("The first day is more than two years away. Check the year.")
    if end and end < (start or today):
        problems["hire_end"] = (
            _("The last day is before the first day. Enter the same day or a later one.")
            if start
            else _("The last day is in the past. Enter today or a later day.")
        )
    elif start and end and (end - start).days > LONGEST_HIRE_DAYS:
        problems["hire_end"] = _("That is more than three years. Check the year of the last day.")
    return problems


def _day(value: Any) -> date | None:
    return date.fromisoformat(value) if isinstance(value, str) and value else None
