"""What the service acknowledged to its customers, written down as they saw it.

A call stands open from before it is sent until its answer is there. One that is open when its
customer goes is unsure: it may have taken effect or not, so it can be neither lost nor doubled.
What is in the database must have been acknowledged or be unsure.
"""

from __future__ import annotations

import json
import threading
import time
from collections import Counter
from dataclasses import asdict, dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Entry:
    """One acknowledgement: what was done, the customer's own key of it, and the answer's."""

    kind: str
    key: str
    reference: str
    detail: str = ""


class Ledger:
    """Kept in memory and in a file; the file is there when the run breaks."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.entries: list[Entry] = []
        self.counts: Counter[str] = Counter()
        self.wrong: list[str] = []
        self.open: dict[tuple[str, str], str] = {}
        self._lock = threading.Lock()

    def asked(self, kind: str, key: str, reference: str = "") -> None:
        """Note a call before it is sent."""
        with self._lock:
            self.open[kind, key] = reference

    def refused(self, kind: str, key: str, why: str) -> None:
        """Note that a call was answered, and took no effect."""
        with self._lock:
            self.open.pop((kind, key), None)
            self.counts[f"refused: {why}"] += 1

    def acknowledged(self, kind: str, key: str, reference: str, detail: str = "") -> None:
        entry = Entry(kind, key, reference, detail)
        with self._lock, self.path.open("a") as file:
            file.write(json.dumps({"at": time.time(), **asdict(entry)}) + "\n")
            self.open.pop((kind, key), None)
            self.entries.append(entry)
            self.counts[kind] += 1

    def counted(self, what: str) -> None:
        """Count something that is no promise: an answer that never came, a refusal."""
        with self._lock:
            self.counts[what] += 1

    def noted_wrong(self, sentence: str) -> None:
        """Note what no customer may ever see."""
        with self._lock:
            self.wrong.append(sentence)

    def unsure(self) -> dict[tuple[str, str], str]:
        """Return the request, where it is known, of each kind and key that has no answer."""
        with self._lock:
            return dict(self.open)

    def copy(self) -> list[Entry]:
        with self._lock:
            return list(self.entries)
