"""The engineering method: from what is to be powered to the set that carries it.

Pure Python: no clock, no network, no settings, no database. Start at ``recommend``.
"""

from __future__ import annotations

from sizing.accessories import Accessory
from sizing.check import Check
from sizing.combinations import Option, Part
from sizing.errors import (
    DocumentRefused,
    OutsideTable,
    Problem,
    QuantityRefused,
    SizingError,
    TableRefused,
)
from sizing.finding import Finding, Severity
from sizing.fleet import GeneratorSet, read_fleet, write_fleet
from sizing.recommend import recommend
from sizing.requirement import Requirement, read_requirement
from sizing.result import Result
from sizing.sheet import sheet

__all__ = [
    "Accessory",
    "Check",
    "DocumentRefused",
    "Finding",
    "GeneratorSet",
    "Option",
    "OutsideTable",
    "Part",
    "Problem",
    "QuantityRefused",
    "Requirement",
    "Result",
    "Severity",
    "SizingError",
    "TableRefused",
    "read_fleet",
    "read_requirement",
    "recommend",
    "sheet",
    "write_fleet",
]
