"""The worked sheet as it is written: one line a step, with the substitution and the source."""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class TraceLine:
    """One line of the calculation: ``P = 15 hp x 0.7457 / 0.91 = 12.29 kW``."""

    chapter: str
    line: str
    source: str = ""


@dataclass(slots=True)
class Trace:
    """Collects lines in the order of the method. Pass ``None`` where no trace is wanted."""

    lines: list[TraceLine] = field(default_factory=list)

    def add(self, chapter: str, line: str, source: str = "") -> None:
        """Append one line; ``chapter`` is the file's name (``starting``)."""
        self.lines.append(TraceLine(chapter, line, source))
