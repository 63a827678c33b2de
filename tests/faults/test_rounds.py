"""A few rounds of what `python -m tests.faults.rounds` plays by the hundred."""

from __future__ import annotations

import os
import random
import subprocess
import sys

import pytest

from tests.live_stack import ROOT

ROUNDS = 6
LONGEST_S = 400

pytestmark = [pytest.mark.faults, pytest.mark.redis]


def test_rounds_of_faults_under_load_lose_nothing_and_double_nothing() -> None:
    """Each run takes other faults; the seed of a run that failed is in its output."""
    seed = os.environ.get("SETWRIGHT_FAULT_SEED") or str(random.randrange(1_000_000))
    words = ["--rounds", str(ROUNDS), "--seed", seed, "--time-limit", "8", "--logs"]
    played = subprocess.run(
        [sys.executable, "-m", "tests.faults.rounds", *words], cwd=ROOT,
        capture_output=True, text=True, timeout=LONGEST_S, check=False,
    )  # fmt: skip
    assert played.returncode == 0, f"seed {seed}\n{played.stdout}\n{played.stderr}"
    assert "zero lost, zero doubled" in played.stdout
