"""How much of drawn plates is read from photos of them: fields right, wrong and missed.

    python -m tests.bench.plate_photo_report            every layout in every condition
    python -m tests.bench.plate_photo_report "glared"   one condition, field by field

Needs the extra `ocr`. Nothing is asserted; the plates are drawn, so real ones (curved, rusted,
stamped without ink) may read worse.
"""

from __future__ import annotations

import resource
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from intake.photos.engine import Line, photo_lines
from intake.photos.suggestion import SURE, suggestion_from
from sizing.nameplate import as_object, read_nameplate
from tests.intake.photos.plates import PLATES, SPOILED, Plate

SHOWN = {
    "hp", "shaft_kw", "watts", "kva", "volts", "system", "secondary", "amps", "phases",
    "hertz", "code_letter", "design_letter", "power_factor", "efficiency", "service_factor",
    "locked_rotor_amps", "rpm",
    "min_circuit_amps", "max_overcurrent_amps", "cooling_btu_h", "lamp_type", "pieces",
}  # fmt: skip


@dataclass(frozen=True)
class Outcome:
    """One field of one photo: right, wrong (read otherwise, or not there at all) or missed."""

    field: str
    verdict: str
    stamped: Any
    read: Any
    confidence: float


def lines_of(plate: Plate, condition: str) -> list[Line]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder, "plate.jpg")
        SPOILED[condition](plate.picture()).save(path, "JPEG", quality=82)
        return photo_lines(path)


def outcomes(plate: Plate, suggestion: dict[str, Any]) -> Iterator[Outcome]:
    """Each field that is stamped, and each that was read without being there."""
    text = suggestion.get("text", "")
    read = as_object(read_nameplate(text)) if text else {}
    for field in sorted((SHOWN & set(read)) | set(plate.stamped)):
        stamped, found = plate.stamped.get(field), read.get(field)
        if stamped is None and field == "volts" and _implied(plate, found):
            continue  # a system says its volts, in other words
        verdict = "right" if found == stamped else "missed" if found is None else "wrong"
        sure = suggestion.get("fields", {}).get(field, 0.0)
        yield Outcome(field, verdict, stamped, found, sure)


def _implied(plate: Plate, found: Any) -> bool:
    system = plate.stamped.get("system", "")
    return bool(system) and all(f"{volts:g}" in system for volts in found)


def main(arguments: list[str]) -> None:
    photo_lines(_warm_up())
    total, sure_wrong, seconds = Counter[str](), 0, []
    for condition in arguments or SPOILED:
        tally = Counter[str]()
        for plate in PLATES:
            begun = time.perf_counter()
            suggestion = suggestion_from(lines_of(plate, condition))
            seconds.append(time.perf_counter() - begun)
            for outcome in outcomes(plate, suggestion):
                tally[outcome.verdict] += 1
                sure_wrong += outcome.verdict == "wrong" and outcome.confidence >= SURE
                if arguments and outcome.verdict != "right":
                    print(f"  {plate.name}: {outcome}")
            if arguments:
                print(f"{plate.name}: {suggestion.get('text')}")
        print(_row(condition, tally))
        total += tally
    print(_row("all", total))
    print(f"wrong although {SURE:.0%} sure or more: {sure_wrong}")
    print(
        f"a photo: median {sorted(seconds)[len(seconds) // 2]:.2f} s, longest {max(seconds):.2f} s"
    )
    print(f"peak memory: {resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024:.0f} MB")


def _row(name: str, tally: Counter[str]) -> str:
    every = sum(tally.values())
    shares = "   ".join(f"{v} {tally[v] / every:6.1%}" for v in ("right", "wrong", "missed"))
    return f"{name:14} {shares}   of {every} fields"


def _warm_up() -> Path:
    path = Path(tempfile.mkdtemp(), "first.jpg")
    PLATES[0].picture().save(path)
    return path


if __name__ == "__main__":
    main(sys.argv[1:])
