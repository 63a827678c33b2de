"""Invented jobs and fleets for the bench: any number of loads, any number of sets."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

from demo_fixtures import fleet_path
from sizing.fleet import GeneratorSet, read_fleet

PLATES = (
    ("pump", "5 hp 460 V 3 ph 60 Hz code H"),
    ("heater", "3 kW 480 V 3 ph"),
    ("lamp", "400 W metal halide 277 V 1 ph"),
    ("motor", "2 hp 460 V 3 ph 60 Hz code J"),
    ("electronics", "500 W 277 V 1 ph"),
)


def job(count: int) -> dict[str, Any]:
    """A settled requirement with this many rows of loads."""
    share = min(1.0, 20 / count)
    loads = [
        {
            "name": f"Load {n}", "kind": kind, "nameplate": plate, "demand_factor": share,
            "starting": "across_the_line", "float_switch": False,
        }
        for n in range(count)
        for kind, plate in [PLATES[n % len(PLATES)]]
    ]  # fmt: skip
    site = {
        "altitude": "500 m", "ambient": "30 degC", "hours_per_day": 24,
        "refuel_every": "24 h", "lead_length": "20 m",
    }  # fmt: skip
    return {"application": "other", "supply": "480Y/277", "site": site, "loads": loads}


def unsure_job(motors: int) -> dict[str, Any]:
    """A requirement of so many motors, no two alike, with nothing said of starts or site."""
    sizes = (15, 5, 10, 7.5, 20)
    loads = [
        {
            "name": f"Motor {n}", "kind": "motor", "starting": "unsure",
            "nameplate": f"{sizes[n % len(sizes)]:g} hp 460 V 3 ph 60 Hz code {'GHJ'[n % 3]}",
        }
        for n in range(motors)
    ]  # fmt: skip
    return {"application": "other", "supply": "480Y/277", "loads": loads}


@cache
def big_fleet(count: int) -> tuple[GeneratorSet, ...]:
    """The demo fleet again and again under other codes, a little apart in power."""
    base = read_fleet(fleet_path())
    return tuple(
        replace(
            one, code=f"{one.code}-{n}", prime_kw=one.prime_kw + n / 1e3,
            prime_kva=one.prime_kva + n / 1e3,
        )
        for n in range(count // len(base) + 1)
        for one in base
    )[:count]  # fmt: skip
