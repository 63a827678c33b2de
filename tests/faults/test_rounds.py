"""A few rounds of what `python -m tests.faults.rounds` plays by the hundred."""

from __future__ import annotations

import os
import random
import subprocess
import sys
from subprocess import PIPE, STDOUT
from threading import Timer

import pytest

from tests.live_stack import ROOT

ROUNDS = 3
LONGEST_S = 400

pytestmark = [pytest.mark.faults, pytest.mark.redis]


def test_rounds_of_faults_under_load_lose_nothing_and_double_nothing() -> None:
    """Each run takes other faults; the seed of a run that failed is in its output."""
    seed = os.environ.get("SETWRIGHT_FAULT_SEED") or str(random.randrange(1_000_000))
    words = ["--rounds", str(ROUNDS), "--seed", seed, "--time-limit", "8", "--logs"]
    words += ["--web", "1", "--programs", "1"]
    command = [sys.executable, "-m", "tests.faults.rounds", *words]
    with subprocess.Popen(command, cwd=ROOT, text=True, stdout=PIPE, stderr=STDOUT) as runner:
        late = Timer(LONGEST_S, runner.terminate)  # it ends early, with its verdict
        late.start()
        said, _none = runner.communicate()
        late.cancel()
    assert runner.returncode == 0, f"seed {seed}\n{said}"
    assert "zero lost, zero doubled" in said
