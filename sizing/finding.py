"""A doubt: something the method saw that a person should read, and maybe decide."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any


class Severity(StrEnum):
    """How much a finding weighs: only ``needs_person`` stops a request from being priced."""

    NOTE = "note"
    WARNING = "warning"
    NEEDS_PERSON = "needs_person"


@dataclass(frozen=True, slots=True)
class Finding:
    """One doubt, with the words for the customer and the question that would settle it.

    ``subject`` is a path into the requirement (``loads[0].nameplate``, ``site.altitude``).
    ``evidence`` holds the contradicting or missing figures by name, units in the names.
    """

    code: str
    severity: Severity
    subject: str
    detail: str
    question: str = ""
    evidence: Mapping[str, Any] = field(default_factory=dict)
