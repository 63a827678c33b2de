"""Phase currents, neutral and unbalance against textbooks, and placing against a solver."""

from __future__ import annotations

import math
import random

import numpy
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from sizing.harmonics import harmonic_amps, unbalance_percent, wye_neutral_amps
from sizing.lines import SYSTEMS, high_leg_volts
from sizing.phases import spread
from sizing.plate import LoadDemand


def load(index: int, kva: float, pf: float, volts: float, **changes: object) -> LoadDemand:
    """A row of one piece by its kVA; amperes by definition of apparent power."""
    phases = int(changes.pop("phases", 1))  # type: ignore[call-overload]
    amps = kva * 1000 / (math.sqrt(3) if phases == 3 else 1) / volts
    given = {"connection": "line_neutral", "quantity": 1, **changes}
    return LoadDemand(
        index=index, name=f"L{index}", kind="other", volts=volts, phases=phases, amps=amps,
        running_kw=kva * pf, running_kva=kva, power_factor=pf, **given,
    )  # type: ignore[arg-type]  # fmt: skip


@pytest.mark.parametrize(
    ("volts", "percent"),
    [([460, 455, 440], 2.583), ([480, 476, 472], 0.84), ([400, 395, 388], 1.606)],
    ids=["Hubert ex. 5.14", "not highest less lowest", "the low phase counts"],
)
def test_voltage_unbalance(volts: list[float], percent: float) -> None:
    """Hubert, Electric Machines, ex. 5.14 p.211 (read); two trade pages whose inputs were read:
    one takes the spread (1.68 %), one the high phase only (1.45 %), both wrong. 0.2 %."""
    assert unbalance_percent(volts) == pytest.approx(percent, rel=0.002)


def test_unequal_loads_on_a_wye() -> None:
    """Mehta, Principles of Power System, ex. 14.7 p.368 (read): 10, 8, 5 kW at 231 V; 0.3 %."""
    amps = [kw * 1000 / 231 for kw in (10, 8, 5)]
    assert amps == pytest.approx([43.3, 34.6, 21.65], rel=0.003)
    assert wye_neutral_amps(*amps) == pytest.approx(18.9, rel=0.003)
    found = spread([load(i, kw, 1.0, 231.0) for i, kw in enumerate((10, 8, 5))], "208Y/120")
    assert sorted(found.phase_amps, reverse=True) == pytest.approx([43.3, 34.6, 21.65], rel=0.003)
    assert found.neutral_amps == pytest.approx(18.9, rel=0.003)


def test_a_line_to_line_load_beside_a_three_phase_one() -> None:
    """Gonen ex. 3.6 p.140 (inputs read; computed, the notebook mixes degrees and radians):
    100 kVA at 0.8 and 50 kVA at 0.9 between two lines of 240 V; 0.1 %."""
    rows = [
        load(0, 100, 0.8, 240.0, phases=3),
        load(1, 50, 0.9, 240.0, connection="line_line"),
    ]
    found = spread(rows, "240/120")
    assert sorted(found.phase_amps) == pytest.approx([240.6, 420.6, 442.9], rel=0.001)
    worst_kva = max(found.phase_amps) * 240 * math.sqrt(3) / 1000
    assert worst_kva == pytest.approx(184, rel=0.002)


def test_third_harmonics_in_the_neutral() -> None:
    """Masters, Renewable and Efficient Electric Power Systems, ex. 2.13 (read); 0.1 %."""
    phase, neutral = harmonic_amps({1: 100, 3: 50, 5: 20, 7: 10, 9: 8, 11: 4, 13: 2})
    assert phase == pytest.approx(114.39, rel=0.001)
    assert neutral == pytest.approx(151.91, rel=0.001)


def test_equal_electronic_loads_meet_in_the_neutral_three_times() -> None:
    """The same rule through the spread: three phases of 100 A with 50 A third: 150 A neutral."""
    rows = [load(0, 12.0, 1.0, 120.0, quantity=3, third_harmonic_share=0.5)]
    found = spread(rows, "208Y/120")
    assert found.third_harmonic_amps == pytest.approx(harmonic_amps({1: 100, 3: 50})[1])
    assert found.neutral_amps == pytest.approx(0, abs=1e-9)


def test_the_high_leg() -> None:
    """Geometry of the delta, as on two trade pages (read): 207.85 V; 0.1 %."""
    assert high_leg_volts(240.0) == pytest.approx(207.85, rel=0.001)


@pytest.mark.parametrize(
    ("connection", "share"), [("line_line", 1 / math.sqrt(3)), ("line_neutral", 1 / 3)]
)
def test_what_one_piece_may_take_of_a_three_phase_set(connection: str, share: float) -> None:
    """Coil limits of a wye (computed), 0.577 between lines, 0.333 to neutral: a piece of that
    share brings one line to rated current. TM 5-6115-545-12 fig. 2-3 (read) says 33 % too."""
    kva, line_volts = 75.0, 208.0
    volts = line_volts if connection == "line_line" else line_volts / math.sqrt(3)
    found = spread([load(0, share * kva, 1.0, volts, connection=connection)], "208Y/120")
    assert max(found.phase_amps) == pytest.approx(kva * 1000 / math.sqrt(3) / line_volts)


def test_three_wire_single_phase_neutral_is_the_difference_of_the_legs() -> None:
    """Kirchhoff's law: 30 A on one leg, 20 A on the other, 10 A back by the neutral."""
    rows = [load(i, kva, 1.0, 120.0) for i, kva in enumerate((3.6, 2.4))]
    found = spread(rows, "120/240")
    assert sorted(found.phase_amps) == pytest.approx([0, 20, 30])
    assert found.neutral_amps == pytest.approx(10)


@pytest.mark.parametrize("name", list(SYSTEMS))
def test_currents_of_a_system_obey_kirchhoff(name: str) -> None:
    """Whatever sits where, line currents and the neutral sum to zero at every place."""
    for place in (*SYSTEMS[name].line_line, *SYSTEMS[name].line_neutral):
        assert sum(place.unit) == pytest.approx(place.neutral)


def least_worst_phase(amps: list[float]) -> float:
    """The least worst of three phases, by mixed-integer programming (HiGHS through scipy)."""
    count = len(amps)
    cost = numpy.zeros(3 * count + 1)
    cost[-1] = 1.0
    once = numpy.zeros((count, 3 * count + 1))
    under = numpy.zeros((3, 3 * count + 1))
    for n, value in enumerate(amps):
        for phase in range(3):
            once[n, 3 * n + phase] = 1.0
            under[phase, 3 * n + phase] = value
    under[:, -1] = -1.0
    whole = numpy.ones(3 * count + 1)
    whole[-1] = 0
    upper = numpy.ones(3 * count + 1)
    upper[-1] = numpy.inf
    found = milp(
        cost,
        constraints=[LinearConstraint(once, 1, 1), LinearConstraint(under, -numpy.inf, 0)],
        integrality=whole,
        bounds=Bounds(0, upper),
    )
    assert found.success
    return float(found.fun)


@pytest.mark.parametrize("seed", range(12))
def test_placing_pieces_to_neutral_against_a_solver(seed: int) -> None:
    """HiGHS by scipy.optimize.milp: pieces of one power factor on three phases, least worst."""
    rnd = random.Random(seed)
    amps = [rnd.uniform(1, 50) for _ in range(rnd.randint(4, 11))]
    rows = [load(i, a * 0.12, 0.9, 120.0) for i, a in enumerate(amps)]
    found = spread(rows, "208Y/120")
    best = least_worst_phase(amps)
    assert max(found.phase_amps) >= best - 1e-6
    if found.proved:
        assert max(found.phase_amps) == pytest.approx(best, rel=1e-6)
    assert max(found.phase_amps) <= best * 1.02
