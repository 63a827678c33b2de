"""Fields of a document taken one by one; every problem is kept with its path, none stops it."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field
from datetime import date, time
from typing import Any, TypeVar

from sizing.errors import Problem, QuantityRefused
from sizing.quantity import read_quantity

UNSURE = "unsure"
T = TypeVar("T")
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})")


@dataclass(slots=True)
class Reader:
    """One object of a document at a path; ``problems`` is shared with the readers inside it."""

    given: Mapping[str, Any]
    path: str = ""
    problems: list[Problem] = field(default_factory=list)

    def at(self, name: str) -> str:
        """Path of a field."""
        return f"{self.path}.{name}" if self.path else name

    def refuse(self, name: str, code: str, message: str) -> None:
        """Keep one problem."""
        self.problems.append(Problem(self.at(name), code, message))

    def refuse_others(self, known: Collection[str]) -> None:
        """Keep a problem for every field that is not known."""
        for name in self.given:
            if name not in known:
                near = ", ".join(sorted(known))
                self.refuse(str(name), "unknown_field", f"there is no field “{name}”; use {near}")

    def given_value(self, name: str) -> Any:
        """Value as given; ``None`` where it is left out or unsure."""
        value = self.given.get(name)
        return None if value in ("", UNSURE) else value

    def inner(self, name: str) -> Reader | None:
        """Reader of an object inside; ``None`` where it is left out."""
        value = self.given_value(name)
        if value is None:
            return None
        if not isinstance(value, Mapping):
            self.refuse(name, "not_an_object", f"{name} must be an object with fields")
            return None
        return Reader(value, self.at(name), self.problems)

    def read(self, name: str, reading: Callable[[Any], T], why: str) -> T | None:
        """Value through a reading that raises ``ValueError`` where it cannot."""
        value = self.given_value(name)
        if value is None:
            return None
        try:
            return reading(value)
        except (ValueError, TypeError):
            self.refuse(name, "malformed", f"“{value}”: {why}")
            return None

    def quantity(
        self, name: str, unit: str, low: float, high: float, default_unit: str | None = None
    ) -> float | None:
        """Quantity in a unit within bounds."""
        value = self.given_value(name)
        if value is None:
            return None
        try:
            return read_quantity(value, unit, low=low, high=high, default_unit=default_unit)
        except QuantityRefused as refusal:
            self.refuse(name, refusal.code, refusal.message)
            return None

    def choice(self, name: str, choices: Collection[str]) -> str | None:
        """One of some words."""
        value = self.given_value(name)
        if value is None:
            return None
        if isinstance(value, str) and value in choices:
            return value
        self.refuse(name, "unknown_choice", f"“{value}” is none of {', '.join(choices)}")
        return None

    def flag(self, name: str) -> bool | None:
        """True or false."""
        value = self.given_value(name)
        if value is None or isinstance(value, bool):
            return value
        self.refuse(name, "malformed", f"“{value}”: give true, false or “unsure”")
        return None

    def text(self, name: str, longest: int = 200) -> str | None:
        """Text that is not empty."""
        value = self.given_value(name)
        if value is None:
            return None
        if isinstance(value, str) and 0 < len(value.strip()) <= longest:
            return value.strip()
        self.refuse(name, "malformed", f"give a text of 1 to {longest} characters")
        return None

    def whole(self, name: str, low: int, high: int) -> int | None:
        """Whole number within bounds."""
        value = self.given_value(name)
        if value is None:
            return None
        if isinstance(value, int) and not isinstance(value, bool) and low <= value <= high:
            return value
        self.refuse(name, "malformed", f"“{value}”: give a whole number from {low} to {high}")
        return None

    def day(self, name: str) -> date | None:
        """Date as 2027-06-01."""
        return self.read(name, date.fromisoformat, "write the date like 2027-06-01")

    def clock(self, name: str) -> time | None:
        """Time of day as 23:30."""
        return self.read(name, clock, "write the time like 23:30")


def clock(text: str) -> time:
    """Time of day from ``23:30``.

    Raises
    ------
    ValueError
        It is not such a time.
    """
    match = _CLOCK.fullmatch(str(text).strip())
    if match is None:
        raise ValueError(text)
    return time(int(match[1]), int(match[2]))
