"""Steps by hand, and start orders against an independent exact method."""

from __future__ import annotations

import random
from functools import cache

import pytest

from sizing.order import best_order, needed_kw
from sizing.plate import LoadDemand
from sizing.sequence import sequence
from sizing.starting import StartDemand
from sizing.step import Step
from sizing.withstand import rules_of

CODE_G_KVA_PER_HP = 6.29  # NEC Table 430.7(B), top of the band (read)


def row(index: int, kind: str, kw: float, kva: float, **changes: object) -> LoadDemand:
    """A three-phase row of one piece at 480 V."""
    given = {"quantity": 1, "phases": 3, "connection": "line_line", **changes}
    return LoadDemand(
        index=index, name=f"L{index}", kind=kind, volts=480.0, amps=kva * 1000 / 480 / 3**0.5,
        running_kw=kw, running_kva=kva, power_factor=kw / kva, is_motor=kind == "motor",
        supply="480Y/277", **given,
    )  # type: ignore[arg-type]  # fmt: skip


def start(demand: LoadDemand, kva: float, pf: float) -> StartDemand:
    return StartDemand(demand.index, demand.name, demand.quantity, kva, kva * pf, pf, "table", "x")


def test_a_20_hp_code_g_motor_on_top_of_ten_kilowatts() -> None:
    """NEC 430.7(B) code G and a starting power factor of 0.2 (IEEE 399 9.5.2, read): 125.8 kVA,
    25.2 kW at the start; 20 hp at 0.9 efficiency settle at 16.6 kW."""
    motor = row(0, "motor", 20 * 0.7457 / 0.9, 22.0)
    heater = row(1, "heater", 10.0, 10.0)
    found = sequence(
        [motor, heater], [start(motor, 20 * CODE_G_KVA_PER_HP, 0.2), start(heater, 10, 1)]
    )
    assert found.worst.start_kva == pytest.approx(125.8)
    assert found.worst.start_kw == pytest.approx(25.16)
    assert found.worst.before_kw == 10.0
    assert found.worst.settled_kw == pytest.approx(16.57, rel=1e-3)
    assert found.momentary_kw == pytest.approx(35.16)


def test_loads_of_unlike_power_factor_add_as_vectors() -> None:
    """Definition of complex power, by hand: 60 kW at 0.6 lagging and 80 kW at unity: 140 kW,
    80 kvar, 161.2 kVA (not 180)."""
    rows = [row(0, "other", 60.0, 100.0), row(1, "heater", 80.0, 80.0)]
    found = sequence(rows, [])
    assert found.peak_kw == pytest.approx(140.0)
    assert found.peak_kva == pytest.approx((140**2 + 80**2) ** 0.5)


def test_two_motors_that_come_back_together() -> None:
    """Two 20 hp code G motors after an outage, by hand: 251.6 kVA at 0.2, not 125.8."""
    rows = [row(i, "motor", 16.6, 22.0, restarts_itself=True) for i in range(2)]
    found = sequence(rows, [start(r, 125.8, 0.2) for r in rows])
    assert found.worst.start_kva == pytest.approx(251.6)
    assert found.worst.start_power_factor == pytest.approx(0.2)


def by_dynamic_programming(
    rows: list[LoadDemand], starts: list[StartDemand], application: str
) -> float:
    """Least worst step over all orders, by Bellman's principle over all subsets: what a start asks
    depends on the set that runs, so W(S) = min over the last j of max(W(S - j), c(j, S - j))."""
    runs = {
        r.index: complex(r.running_kw, (r.running_kva**2 - r.running_kw**2) ** 0.5) for r in rows
    }
    by_index = {r.index: r for r in rows}

    def asks(last: int, running: frozenset[int]) -> float:
        before = sum((runs[i] for i in running), 0j)
        s = starts[last]
        step = Step(
            "", (last,), tuple(running), s.start_kva, s.start_kw, s.start_power_factor,
            before.real, abs(before), runs[last].real, None,
            rules_of(by_index[i] for i in running),
        )  # fmt: skip
        return needed_kw(step, application)

    @cache
    def least(those: frozenset[int]) -> float:
        if not those:
            return 0.0
        return min(
            max(least(those - {last}), asks(last, those - {last}))
            for last in those
            if all(by_index[i].starts_after != by_index[last].name for i in those)
        )

    return least(frozenset(runs))


@pytest.mark.parametrize("seed", range(8))
def test_the_best_order_of_ten_loads_against_dynamic_programming(seed: int) -> None:
    """An independent exact method over 2^10 subsets (Bellman), agreement to the last digit."""
    rnd = random.Random(seed)
    rows, starts = [], []
    for i in range(10):
        kind = rnd.choice(("motor", "motor", "heater", "lamp", "electronics"))
        kw = rnd.uniform(1, 25)
        kva = kw / rnd.choice((0.8, 0.9, 1.0))
        after = f"L{rnd.randrange(i)}" if i and rnd.random() < 0.3 else None
        rows.append(row(i, kind, kw, kva, starts_after=after))
        multiple, pf = (6.0, 0.2) if kind == "motor" else (1.0, kw / kva)
        starts.append(start(rows[-1], multiple * kva, pf))
    found = best_order(rows, starts, "dewatering")
    assert found is not None
    assert found.proved
    assert found.needed_kw == pytest.approx(by_dynamic_programming(rows, starts, "dewatering"))
