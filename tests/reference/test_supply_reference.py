"""Chapter 2 against nominal systems, motor voltage rules, and the geometry of a high leg."""

from __future__ import annotations

import cmath
import math

import pytest

from sizing.motor_tables import kva_of
from sizing.nameplate import load_demand, read_nameplate
from sizing.requirement import Load
from sizing.supply import suits
from sizing.tables import table

# ANSI C84.1 nominal systems: phases, line to line, line to neutral
# (brunsengineering.com/nominal-system-voltages-in-the-united-states).
NOMINAL = [
    ("120/240", 1, 240, 120), ("208Y/120", 3, 208, 120), ("480Y/277", 3, 480, 277),
    ("240/120", 3, 240, 120),
]  # fmt: skip
# Utilization voltages of motors for each nominal system (studylib.net/doc/18609785 for 240/230 and
# 480/460; lorchem.com for 200 V motors on 208 V): system, phases, volts.
MEANT_FOR = [
    ("120/240", 1, 115), ("120/240", 1, 230), ("208Y/120", 3, 200), ("208Y/120", 1, 115),
    ("240/120", 3, 230), ("240/120", 1, 115), ("480Y/277", 3, 460), ("480Y/277", 1, 265),
]  # fmt: skip
# Service range B of C84.1, from memory: system, lowest, highest line-to-line volts.
RANGE_B = [("208Y/120", 191, 220), ("240/120", 220, 254), ("480Y/277", 440, 508)]


@pytest.mark.parametrize(("system", "phases", "line", "neutral"), NOMINAL)
def test_nominal_systems_are_replayed(
    system: str, phases: int, line: float, neutral: float
) -> None:
    row = table("supply_systems").row(system)
    assert (row["phases"], row["line_line_v"], row["line_neutral_v"]) == (phases, line, neutral)


@pytest.mark.parametrize(("system", "neutral"), [("208Y/120", 120), ("480Y/277", 277)])
def test_a_wye_has_its_neutral_at_line_voltage_over_root_three(system: str, neutral: float) -> None:
    """V_LN = V_LL / sqrt(3), rounded to whole volts: any textbook."""
    assert table("supply_systems").at("line_line_v", system) / math.sqrt(3) == pytest.approx(
        neutral, abs=0.5
    )


def test_the_high_leg_has_208_volts_to_neutral() -> None:
    """sqrt(240^2 - 120^2) = 207.85 V (terrylove.com); by phasors: two corners at +-120 V of the
    centre tap, the third corner of the delta at right angles."""
    third_corner = 240 * cmath.exp(1j * math.pi / 3) - 120
    assert abs(third_corner) == pytest.approx(207.85, rel=1e-3)
    assert table("supply_systems").at("high_leg_v", "240/120") == pytest.approx(
        abs(third_corner), abs=0.5
    )


@pytest.mark.parametrize(("system", "phases", "volts"), MEANT_FOR)
def test_a_motor_stamped_for_a_system_is_carried_by_it(
    system: str, phases: int, volts: float
) -> None:
    assert suits(read_nameplate(f"1 hp {volts} V {phases} ph"), "motor", system).carried


def test_motor_tolerances_as_a_standard_and_trade_pages_state_them() -> None:
    """NEMA MG 1 12.44.1: +-10 %: 180-220 V for a 200 V motor, 207-253 V for 230 V, 414-506 V for
    460 V. Our band keeps 5 % of the low side free, so it lies inside."""
    row = table("voltage_bands").row("motor")
    assert (row["low_percent"], row["high_percent"]) == (-10, 10)
    for stamped, low, high in ((200, 180, 220), (230, 207, 253), (460, 414, 506)):
        assert stamped * (1 + row["low_percent"] / 100) == pytest.approx(low)
        assert stamped * (1 + row["high_percent"] / 100) == pytest.approx(high)


def test_a_230_volt_motor_on_208_has_one_volt_of_room_and_is_not_let_through() -> None:
    """208 V against 207 V, the lowest that NEMA MG 1 12.44.1 allows: no drop is left for leads."""
    found = suits(read_nameplate("5 hp 230 V 3 ph"), "motor", "208Y/120")
    assert (found.carried, found.near_miss) == (False, True)
    assert pytest.approx(1.0) == 208 - 0.9 * 230


@pytest.mark.parametrize(("system", "low", "high"), RANGE_B)
def test_each_system_keeps_its_own_motors_within_ten_percent_over_range_b(
    system: str, low: float, high: float
) -> None:
    """C84.1 range B (memory) against the motor meant for the system and its +-10 %."""
    stamped = {"208Y/120": 200, "240/120": 230, "480Y/277": 460}[system]
    assert 0.9 * stamped <= low
    assert high <= 1.105 * stamped


@pytest.mark.parametrize(
    ("stamped", "volts", "share"),
    [(240, 208, 0.751), (240, 230, 0.918), (208, 240, 1.331), (480, 460, 0.918), (240, 120, 0.25)],
)
def test_heat_goes_with_the_square_of_the_voltage(
    stamped: float, volts: float, share: float
) -> None:
    """Joule's law: 240 V heaters give 75 % on 208 V, a quarter on 120 V."""
    assert (volts / stamped) ** 2 == pytest.approx(share, abs=1e-3)
    if (stamped, volts) == (240, 208):
        plate = read_nameplate("10 kW 240 V 3 ph")
        found, _ = load_demand(Load("x", "heater", plate), 0, "208Y/120")
        assert found is not None
        assert found.running_kw == pytest.approx(10 * share, rel=1e-3)


def test_a_208_volt_heater_on_240_would_overload_by_a_third_and_is_not_carried() -> None:
    """(240/208)^2 = 1.331."""
    assert not suits(read_nameplate("10 kW 208 V 3 ph"), "heater", "240/120").carried


def test_the_high_leg_share_is_bounded_at_a_quarter() -> None:
    """US Forest Service sheet: no four-wire delta where the 120 V load exceeds 25 % of the total
    (info.5y1.org/208-volt-3-phase)."""
    assert table("supply_rules").at("value", "high_leg_share_percent") == 25


def test_a_single_phase_load_between_lines_takes_the_full_line_voltage() -> None:
    """5 kVA between two lines of 208 V draw 24.04 A: I = S / V, no root of three."""
    plate = read_nameplate("5 kVA 208 V 1 ph")
    found, _ = load_demand(Load("x", "electronics", plate), 0, "208Y/120")
    assert found is not None
    assert (found.amps, found.connection) == (pytest.approx(24.04, abs=0.01), "line_line")
    assert kva_of(found.amps, 208, 1) == pytest.approx(5)


@pytest.mark.parametrize("hertz", [50, 400])
def test_other_frequencies_are_never_carried(hertz: int) -> None:
    """NEMA MG 1 12.44.1: frequency within 5 % of 60 Hz; 50 Hz is 17 % off."""
    assert abs(hertz / 60 - 1) > 0.05
    found = suits(read_nameplate(f"5 hp 460 V 3 ph {hertz} Hz"), "motor", "480Y/277")
    assert found.verdict == "never"


# Usual ratings of dry-type transformers: common practice, no source.
@pytest.mark.parametrize(
    ("phases", "kva"),
    [(1, 5), (1, 10), (1, 15), (1, 25), (1, 50), (3, 15), (3, 30), (3, 45), (3, 75), (3, 112.5)],
)
def test_usual_transformer_ratings_are_there(phases: int, kva: float) -> None:
    assert table("transformer_sizes").row(float(phases), kva)
