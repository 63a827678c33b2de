"""The answers of one request, as the questions and steps ask for them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any


@dataclass(frozen=True, slots=True)
class Given:
    """One answer as typed, or the answer "not sure"."""

    value: Any = None
    unsure: bool = False

    @property
    def empty(self) -> bool:
        return not self.unsure and self.value in (None, "", [])


NOTHING = Given()


@dataclass(frozen=True, slots=True)
class Answers:
    """Answers by key, and what the equipment rows say that later questions depend on."""

    by_key: Mapping[str, Given] = field(default_factory=dict)
    has_float_switch: bool = False

    def given(self, key: str) -> Given:
        return self.by_key.get(key, NOTHING)

    def value(self, key: str) -> Any:
        """The value given, ``None`` where unsure or nothing was said."""
        given = self.given(key)
        return None if given.unsure else given.value

    @property
    def application(self) -> str:
        return self.value("application") or ""
