"""How fast a job is sized. Run with: pytest tests/bench --benchmark-only.

Aims, on one core: 20 loads against 500 sets under 20 ms; 1,000 loads against 5,000 sets under 1 s;
growth in loads no worse than n log n; import of the method under 150 ms. Nothing here is asserted
on time: a slow machine is no defect. The report says what it took, in processor time, so that
what else runs on the machine counts little.
"""

from __future__ import annotations

import os
import resource
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import pytest

from demo_fixtures import fleet_path
from sizing import read_fleet, read_requirement, recommend, running, starting
from sizing.engine import engine_run
from tests.bench.sizing_cases import big_fleet, job, unsure_job

pytestmark = pytest.mark.benchmark(warmup=True, min_rounds=5, timer=time.process_time)


def forget() -> None:
    """Forget what the method remembers of a round: each is to be worked out anew."""
    for remembered in (engine_run, running._read, starting._read):
        remembered.cache_clear()


def children_s() -> float:
    """Processor time of the processes that have ended [s]."""
    spent = resource.getrusage(resource.RUSAGE_CHILDREN)
    return spent.ru_utime + spent.ru_stime


@pytest.mark.parametrize(("loads", "sets"), [(20, 500), (1000, 5000)])
def test_size(benchmark: Any, loads: int, sets: int) -> None:
    requirement, fleet = read_requirement(job(loads)), big_fleet(sets)
    found = benchmark.pedantic(
        recommend, (requirement, fleet), setup=forget, rounds=10, warmup_rounds=2
    )
    assert found.outcome == "recommended"


@pytest.mark.parametrize("motors", [1, 3, 10])
def test_not_sure(benchmark: Any, motors: int) -> None:
    """Motors whose starting method nobody knows, on a site of unknown height and heat."""
    requirement, fleet = read_requirement(unsure_job(motors)), read_fleet(fleet_path())
    found = benchmark.pedantic(
        recommend, (requirement, fleet), setup=forget, rounds=10, warmup_rounds=2
    )
    assert {one.code for one in found.findings} >= {"start_assumed", "altitude_unsure"}


@pytest.mark.parametrize("loads", [62, 125, 250, 500, 1000])
def test_growth_in_loads(benchmark: Any, loads: int) -> None:
    requirement, fleet = read_requirement(job(loads)), big_fleet(20)
    found = benchmark(recommend, requirement, fleet)
    assert found.demands[0].loads[-1].index == loads - 1


@pytest.mark.parametrize("sets", [50, 500, 5000])
def test_growth_in_sets(benchmark: Any, sets: int) -> None:
    requirement, fleet = read_requirement(job(20)), big_fleet(sets)
    assert benchmark(recommend, requirement, fleet).options


def test_read_a_requirement(benchmark: Any) -> None:
    assert len(benchmark(read_requirement, job(20)).loads) == 20


@pytest.mark.benchmark(timer=children_s)
def test_import(benchmark: Any, tmp_path: Path) -> None:
    """A fresh interpreter that imports the method; the bare interpreter's start is in it."""
    command = [sys.executable, "-c", "import sizing"]
    cached = {**os.environ, "PYTHONPYCACHEPREFIX": str(tmp_path)}
    cached.pop("PYTHONDONTWRITEBYTECODE", None)
    subprocess.run(command, env=cached, check=True)
    done = benchmark.pedantic(subprocess.run, (command,), {"env": cached}, rounds=5)
    assert done.returncode == 0
