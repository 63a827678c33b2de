"""One thing that should never be so."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Breach:
    """What is wrong, with which row, in a sentence."""

    code: str
    subject: str
    detail: str


@dataclass(frozen=True, slots=True)
class Invariant:
    """One promise, and the function that finds where it is broken."""

    code: str
    promise: str
    broken: Callable[[datetime], Iterable[Breach]]
