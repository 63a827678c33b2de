"""Chapter 3 against NEC tables, the code letters of NEMA MG 1, and textbook examples."""

from __future__ import annotations

from typing import Any

import pytest

from sizing.motor_tables import locked_rotor_kva_of_table, phase_root
from sizing.nameplate import load_demand, read_nameplate
from sizing.requirement import Load
from sizing.starting import StartDemand, start_demand, starting_power_factor
from sizing.tables import table

# NFPA 70-2023 (NEC) Table 430.251(A): hp; locked-rotor amps, single-phase, at 115, 208, 230 V.
# 10 hp at 115 V is 600 A as in the 2008 edition.
SINGLE_PHASE = [
    (0.5, 58.8, 32.5, 29.4),
    (0.75, 82.8, 45.8, 41.4),
    (1, 96, 53, 48),
    (1.5, 120, 66, 60),
    (2, 144, 80, 72),
    (3, 204, 113, 102),
    (5, 336, 186, 168),
    (7.5, 480, 265, 240),
    (10, 600, 332, 300),
]
# NFPA 70-2023 (NEC) Table 430.251(B): hp; locked-rotor amps, designs B, C, D, at 115, 200, 208,
# 230, 460, 575 V; agrees with the 2008 edition.
THREE_PHASE = [
    (0.5, 40, 23, 22.1, 20, 10, 8),
    (0.75, 50, 28.8, 27.6, 25, 12.5, 10),
    (1, 60, 34.5, 33, 30, 15, 12),
    (1.5, 80, 46, 44, 40, 20, 16),
    (2, 100, 57.5, 55, 50, 25, 20),
    (3, None, 73.6, 71, 64, 32, 25.6),
    (5, None, 105.8, 102, 92, 46, 36.8),
    (7.5, None, 146, 140, 127, 63.5, 50.8),
    (10, None, 186.3, 179, 162, 81, 64.8),
    (15, None, 267, 257, 232, 116, 93),
    (20, None, 334, 321, 290, 145, 116),
    (25, None, 420, 404, 365, 183, 146),
    (30, None, 500, 481, 435, 218, 174),
    (40, None, 667, 641, 580, 290, 232),
    (50, None, 834, 802, 725, 363, 290),
    (60, None, 1001, 962, 870, 435, 348),
    (75, None, 1248, 1200, 1085, 543, 434),
    (100, None, 1668, 1603, 1450, 725, 580),
    (125, None, 2087, 2007, 1815, 908, 726),
    (150, None, 2496, 2400, 2170, 1085, 868),
    (200, None, 3335, 3207, 2900, 1450, 1160),
    (250, None, None, None, None, 1825, 1460),
    (300, None, None, None, None, 2200, 1760),
    (350, None, None, None, None, 2550, 2040),
    (400, None, None, None, None, 2900, 2320),
    (450, None, None, None, None, 3250, 2600),
    (500, None, None, None, None, 3625, 2900),
]
# NFPA 70-2023 (NEC) Table 430.7(B), the same as NEMA MG 1 10.37.2: letter, from, to [kVA/hp].
LETTERS: list[tuple[str, float, float | None]] = [
    ("A", 0, 3.14),
    ("B", 3.15, 3.54),
    ("C", 3.55, 3.99),
    ("D", 4, 4.49),
    ("E", 4.5, 4.99),
    ("F", 5, 5.59),
    ("G", 5.6, 6.29),
    ("H", 6.3, 7.09),
    ("J", 7.1, 7.99),
    ("K", 8, 8.99),
    ("L", 9, 9.99),
    ("M", 10, 11.19),
    ("N", 11.2, 12.49),
    ("P", 12.5, 13.99),
    ("R", 14, 15.99),
    ("S", 16, 17.99),
    ("T", 18, 19.99),
    ("U", 20, 22.39),
    ("V", 22.4, None),
]
# Locked-rotor kVA per hp and the letter it implies, computed outside the project from Tables
# 430.251(B) at 460 V and 430.7(B): hp, LR kVA, kVA per hp, letter.
IMPLIED = [
    (0.5, 7.97, 15.93, "R"),
    (0.75, 9.96, 13.28, "P"),
    (1, 11.95, 11.95, "N"),
    (1.5, 15.93, 10.62, "M"),
    (2, 19.92, 9.96, "L"),
    (3, 25.50, 8.50, "K"),
    (5, 36.65, 7.33, "J"),
    (7.5, 50.59, 6.75, "H"),
    (10, 64.54, 6.45, "H"),
    (15, 92.42, 6.16, "G"),
    (20, 115.53, 5.78, "G"),
    (25, 145.80, 5.83, "G"),
    (30, 173.69, 5.79, "G"),
    (40, 231.06, 5.78, "G"),
    (50, 289.22, 5.78, "G"),
    (60, 346.58, 5.78, "G"),
    (75, 432.63, 5.77, "G"),
    (100, 577.64, 5.78, "G"),
    (125, 723.44, 5.79, "G"),
    (150, 864.47, 5.76, "G"),
    (200, 1155.28, 5.78, "G"),
    (250, 1454.06, 5.82, "G"),
    (300, 1752.84, 5.84, "G"),
    (350, 2031.70, 5.80, "G"),
    (400, 2310.56, 5.78, "G"),
    (450, 2589.42, 5.75, "G"),
    (500, 2888.19, 5.78, "G"),
]


def start(plate: str, system: str = "480Y/277", **fields: Any) -> StartDemand:
    read = read_nameplate(plate)
    fields = {"starting": "across_the_line", **fields}
    demand, _ = load_demand(Load("x", "motor", read, **fields), 0, system)
    assert demand is not None
    return start_demand(demand, read)[0]


@pytest.mark.parametrize("row", SINGLE_PHASE, ids=lambda r: f"{r[0]:g} hp")
def test_nec_430_251_a_is_replayed(row: tuple[float, ...]) -> None:
    hp, *amps = row
    for volts, expected in zip((115.0, 208.0, 230.0), amps, strict=True):
        assert locked_rotor_kva_of_table(hp, 1, volts) == pytest.approx(volts * expected / 1000)


@pytest.mark.parametrize("row", THREE_PHASE, ids=lambda r: f"{r[0]:g} hp")
def test_nec_430_251_b_is_replayed(row: tuple[float | None, ...]) -> None:
    hp, *amps = row
    assert hp is not None
    for volts, expected in zip((115.0, 200.0, 208.0, 230.0, 460.0, 575.0), amps, strict=True):
        if expected is not None:
            kva = locked_rotor_kva_of_table(hp, 3, volts)
            assert kva * 1000 / (phase_root(3) * volts) == pytest.approx(expected)


@pytest.mark.parametrize(("letter", "low", "high"), LETTERS)
def test_code_letters_are_replayed_and_sized_at_their_top(
    letter: str, low: float, high: float | None
) -> None:
    row = table("code_letters").row(letter)
    assert (row["kva_per_hp_from"], row["kva_per_hp_to"]) == (low, high)
    found = start(f"20 hp 460 V 3 ph code {letter}")
    assert found.basis == "code_letter"
    running = 3**0.5 * 0.460 * 27  # a start never asks less than running, as letter A would
    assert found.start_kva == pytest.approx(max(20 * (high if high else low), running))


@pytest.mark.parametrize(("hp", "kva", "per_hp", "letter"), IMPLIED)
def test_locked_rotor_kva_and_its_letter_agree_with_an_outside_computation(
    hp: float, kva: float, per_hp: float, letter: str
) -> None:
    found = start(f"{hp} hp 460 V 3 ph")
    assert (found.basis, found.start_kva) == ("table", pytest.approx(kva, rel=1e-3))
    row = table("code_letters").row(letter)
    assert row["kva_per_hp_from"] <= round(per_hp, 2) <= row["kva_per_hp_to"]
    assert found.start_kva <= row["kva_per_hp_to"] * hp * 1.001


def line_amps(kva: float, volts: float = 460) -> float:
    return kva * 1000 / (3**0.5 * volts)


def test_inrush_of_a_code_g_motor_of_a_textbook() -> None:
    """Hubert, Electric Machines, ex. 5.13: 150 hp, 460 V, code G: 1054.29 to 1186.08 A. The book
    takes the next letter's lower limit 6.3 as the top; the band printed ends at 6.29."""
    row = table("code_letters").row("G")
    assert line_amps(row["kva_per_hp_from"] * 150) == pytest.approx(1054.29, rel=1e-3)
    top = line_amps(start("150 hp 460 V 3 ph code G").start_kva)
    assert top == pytest.approx(1186.08 * 6.29 / 6.3, rel=1e-3)


def test_starting_kva_of_twenty_horsepower_code_g() -> None:
    """20 hp x 6.29 = 125.8 kVA, 157.9 A at 460 V. electriciantalk.com, thread on code letters."""
    found = start("20 hp 460 V 3 ph code G")
    assert found.start_kva == pytest.approx(125.8, rel=2e-3)
    assert line_amps(found.start_kva) == pytest.approx(157.9, rel=2e-3)


def test_locked_rotor_of_a_hundred_horsepower_is_code_g() -> None:
    """725 A at 460 V: 577.6 kVA, 5.776 kVA per hp, G. NEC Tables 430.251(B) and 430.7(B)."""
    found = start("100 hp 460 V 3 ph LRA 725")
    assert found.start_kva == pytest.approx(577.6, rel=1e-3)
    assert found.start_kva / 100 == pytest.approx(5.776, rel=1e-3)
    assert start("100 hp 460 V 3 ph").start_kva == pytest.approx(found.start_kva)


def test_single_phase_locked_rotor_is_six_times_running() -> None:
    """2 hp, 230 V: 72 A, 16.56 kVA, 6.0 times 2.76 kVA. NEC Tables 430.251(A) and 430.248."""
    found = start("2 hp 230 V 1 ph", "120/240")
    assert found.start_kva == pytest.approx(16.56, rel=1e-3)
    assert found.start_kva / 2.76 == pytest.approx(6.0, rel=1e-3)


def test_an_autotransformer_of_a_textbook() -> None:
    """Hubert, Electric Machines, ex. 5.18: 125 hp, 460 V, 1051.15 A across the line, 444.11 A on
    the line by the 65 % tap (0.65 squared is 0.4225; the table prints 42 %)."""
    across = start("125 hp 460 V 3 ph LRA 1051.15")
    tapped = start("125 hp 460 V 3 ph LRA 1051.15", starting="autotransformer_65")
    assert line_amps(across.start_kva) == pytest.approx(1051.15, rel=1e-6)
    assert line_amps(tapped.start_kva) == pytest.approx(444.11, rel=0.01)


def test_star_delta_takes_a_third_of_the_line_current_of_a_textbook() -> None:
    """Theraja ex. 35.19: 650 % across the line, 216.67 % in star-delta."""
    across = start("50 hp 460 V 3 ph 62 A LRA 403")
    star = start("50 hp 460 V 3 ph 62 A LRA 403", starting="wye_delta")
    percent = 100 * line_amps(star.start_kva) / 62
    assert 100 * line_amps(across.start_kva) / 62 == pytest.approx(650, rel=1e-3)
    assert percent == pytest.approx(216.67, rel=0.011)


@pytest.mark.parametrize(("method", "tap"), [("autotransformer_50", 0.50),
                                             ("autotransformer_65", 0.65),
                                             ("autotransformer_80", 0.80)])  # fmt: skip
def test_line_kva_of_a_tap_goes_with_its_square(method: str, tap: float) -> None:
    """Line current goes with the square of the tap. Theraja ex. 35.19 (60 % tap: 234 of 650 %),
    Kosow ex. 9.4 (motor current with the tap itself); printed shares are rounded to a percent."""
    assert table("starting_methods").at("kva_share", method) == pytest.approx(tap**2, abs=0.005)


def test_the_start_kva_of_a_set_sizing_example_by_a_tap() -> None:
    """125.8 kVA by a 65 % tap is 53.15 kVA on the line. Sheldrake; Hubert ex. 5.18."""
    found = start("20 hp 460 V 3 ph code G", starting="autotransformer_65")
    assert found.start_kva == pytest.approx(53.15, rel=0.01)


@pytest.mark.parametrize(("hp", "pf"), [(100, 0.2), (500, 0.2), (999, 0.2), (1000, 0.15)])
def test_starting_power_factor_of_ieee_399(hp: float, pf: float) -> None:
    """IEEE 399 9.5.2: 0.20 under 1,000 hp, 0.15 at 1,000 hp and over (quoted at
    support.skm.com/KB/View/4422); IEEE 141-1993: 0.2 for medium motors."""
    assert starting_power_factor(hp) == pytest.approx(pf)


def test_starting_power_factor_of_a_small_motor_of_a_textbook() -> None:
    """Kosow ex. 12.18: 7.5 hp, 220 V, 0.533 from its circuit. Ours is 0.5 there."""
    assert starting_power_factor(7.5) == pytest.approx(0.533, abs=0.05)


@pytest.mark.parametrize("row", THREE_PHASE, ids=lambda r: f"{r[0]:g} hp")
def test_locked_rotor_over_running_is_no_flat_six(row: tuple[float | None, ...]) -> None:
    """Trap: 430.251(B) over 430.250 at 460 V lies between 5.4 and 9.1."""
    hp = row[0]
    found = start(f"{hp} hp 460 V 3 ph")
    amps = table("motor_current_three_phase").at("amps_460v", hp)
    assert 5.36 <= line_amps(found.start_kva) / amps <= 9.1


def test_starting_kva_over_running_kva_lies_where_a_handbook_puts_it() -> None:
    """MIL-HDBK-1003/11 5.3.4.2: 3 to 8 times, for motors of a few horsepower and more."""
    for hp in (3, 5, 10, 20, 50, 100, 200):
        plate = read_nameplate(f"{hp} hp 460 V 3 ph")
        demand, _ = load_demand(Load("x", "motor", plate), 0, "480Y/277")
        assert demand is not None
        ratio = start_demand(demand, plate)[0].start_kva / demand.running_kva
        assert 3 <= ratio <= 8


def test_typical_letters_by_size_bound_the_table_from_above() -> None:
    """Typical letter by size (engineeringtoolbox.com, locked-rotor code): K at 3 hp, J at 5, H at
    7.5 and 10, G from 15: the top of each is at least what the table of design B allows."""
    for hp, letter in ((3, "K"), (5, "J"), (7.5, "H"), (10, "H"), (15, "G"), (100, "G")):
        by_letter = start(f"{hp} hp 460 V 3 ph code {letter}").start_kva
        assert by_letter >= start(f"{hp} hp 460 V 3 ph").start_kva


def test_half_wave_pulses_have_half_their_crest_as_fundamental() -> None:
    """Fourier series of a half-wave rectified sine: the first harmonic is half the crest. So an
    inrush crest of ten times rated is five times rated at the fundamental (ten: memory)."""
    import math

    steps = 20_000
    crest = 10.0
    pulses = (
        (crest * max(math.sin(2 * math.pi * k / steps), 0.0), math.sin(2 * math.pi * k / steps))
        for k in range(steps)
    )
    fundamental = 2 / steps * sum(value * sine for value, sine in pulses)
    assert fundamental == pytest.approx(5.0, rel=1e-3)
    assert table("load_kinds").at("start_multiple", "transformer") == pytest.approx(fundamental)
