"""Starts by plate, letter and size, reduced by the method; other loads by their kind."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sizing.finding import Finding
from sizing.nameplate import Nameplate, load_demand, read_nameplate
from sizing.requirement import Load
from sizing.starting import StartDemand, start_demand, starting_power_factor
from sizing.tables import table
from sizing.trace import Trace

ROOT = 3**0.5


def start(
    plate: str | Nameplate, kind: str = "motor", system: str = "480Y/277",
    starting: str = "across_the_line", **fields: Any,
) -> tuple[StartDemand, dict[str, Finding]]:  # fmt: skip
    read = read_nameplate(plate) if isinstance(plate, str) else plate
    demand, _ = load_demand(Load("Load", kind, read, starting=starting, **fields), 3, system)
    assert demand is not None
    trace = Trace()
    found, findings = start_demand(demand, read, trace)
    assert start_demand(demand, read) == (found, findings)
    assert {line.chapter for line in trace.lines} == {"starting"}
    assert all(line.source for line in trace.lines)
    assert all(f.subject == "loads[3].nameplate" for f in findings)
    assert found.start_kw == pytest.approx(found.start_kva * found.start_power_factor)
    assert found.start_kva >= demand.running_kva
    return found, {f.code: f for f in findings}


def kva(plate: str | Nameplate, *args: str, **fields: Any) -> float:
    return start(plate, *args, **fields)[0].start_kva


def test_a_code_letter_counts_at_the_top_of_its_band() -> None:
    found, findings = start("15 hp 460 V 3 ph 21 A code G")
    assert found.start_kva == pytest.approx(15 * 6.29)
    assert (found.basis, found.method, findings) == ("code_letter", "across_the_line", {})


def test_stamped_locked_rotor_amps_go_before_the_letter() -> None:
    found, findings = start("15 hp 460 V 3 ph 21 A LRA 116 code G")
    assert found.start_kva == pytest.approx(ROOT * 0.460 * 116)
    assert (found.basis, findings) == ("locked_rotor_amps", {})


def test_a_letter_whose_band_begins_above_the_amps_counts_instead() -> None:
    assert start("15 hp 460 V 3 ph LRA 100 code L")[0].basis == "code_letter"
    assert kva("15 hp 460 V 3 ph LRA 100 code L") == pytest.approx(15 * 9.99)
    almost = 15 * 5.6 / 1.09 / ROOT / 0.460
    assert start(f"15 hp 460 V 3 ph LRA {almost:.2f} code G")[0].basis == "locked_rotor_amps"
    under = 15 * 5.6 / 1.11 / ROOT / 0.460
    assert start(f"15 hp 460 V 3 ph LRA {under:.2f} code G")[0].basis == "code_letter"
    assert start("21 A 460 V 3 ph LRA 30 code G")[0].basis == "code_letter"


def test_locked_rotor_amps_hold_at_the_winding_used() -> None:
    low = kva("20 hp 230/460 V 3 ph LRA 290/145", "motor", "240/120")
    high = kva("20 hp 230/460 V 3 ph LRA 290/145", "motor", "480Y/277")
    assert low == high == pytest.approx(ROOT * 0.460 * 145)
    assert kva("20 hp 230/460 V 3 ph LRA 145", "motor", "240/120") == pytest.approx(high)


def test_a_single_phase_start_has_no_root_of_three() -> None:
    assert kva("2 hp 230 V 1 ph LRA 72", "motor", "120/240") == pytest.approx(16.56)
    assert kva("2 hp 230 V 1 ph", "motor", "120/240") == pytest.approx(16.56)


def test_without_letter_and_amps_the_largest_of_the_table_counts_and_is_said() -> None:
    found, findings = start("15 hp 460 V 3 ph 21 A")
    assert found.start_kva == pytest.approx(ROOT * 0.460 * 116)
    assert found.basis == "table"
    assert findings["start_assumed"].severity == "note"
    assert "LRA" in findings["start_assumed"].question
    assert kva("11 kW 1760 rpm 460 V 3 ph") > 90
    assert kva("11 kW 460 V 3 ph") > 90


def test_between_sizes_and_under_the_smallest_the_table_still_bounds() -> None:
    assert kva("12 hp 460 V 3 ph") == pytest.approx(ROOT * 0.460 * (81 + 0.4 * 35))
    assert kva("1/4 hp 460 V 3 ph") == kva("1/2 hp 460 V 3 ph")


def test_the_open_band_asks_for_the_amps_and_counts_the_least() -> None:
    found, findings = start("10 hp 460 V 3 ph code V")
    assert found.start_kva == pytest.approx(224)
    assert findings["code_letter_open"].severity == "needs_person"
    assert "224 kVA is the least" in findings["code_letter_open"].detail
    assert start("10 hp 460 V 3 ph code V LRA 300")[1] == {}


def test_design_a_has_no_top_and_goes_to_a_person() -> None:
    found, findings = start("15 hp 460 V 3 ph design A")
    assert found.start_kva == pytest.approx(1.25 * ROOT * 0.460 * 116)
    assert findings["code_letter_open"].severity == "needs_person"
    assert "code_letter_open" not in start("15 hp 460 V 3 ph design B")[1]


@pytest.mark.parametrize(
    ("method", "share"),
    [
        ("across_the_line", 1.0), ("wye_delta", 0.33), ("autotransformer_50", 0.25),
        ("autotransformer_65", 0.42), ("autotransformer_80", 0.64), ("part_winding", 0.80),
    ],
)  # fmt: skip
def test_a_reduced_voltage_method_takes_its_share_of_line_kva(method: str, share: float) -> None:
    found, _ = start("50 hp 460 V 3 ph 62 A code G", starting=method)
    assert found.start_kva == pytest.approx(50 * 6.29 * share)
    assert found.method == method
    assert found.start_power_factor == pytest.approx(0.2)


def test_a_current_limit_counts_from_running_kva_and_never_over_locked_rotor() -> None:
    running = ROOT * 0.460 * 62
    soft, _ = start("50 hp 460 V 3 ph 62 A code G", starting="soft_starter")
    assert soft.start_kva == pytest.approx(4 * running)
    assert soft.start_power_factor == pytest.approx(0.2)
    drive, _ = start("50 hp 460 V 3 ph 62 A code G pf 87", starting="vfd")
    assert (drive.start_kva, drive.start_power_factor) == (pytest.approx(1.5 * running), 0.87)
    assert (soft.basis, drive.basis) == ("table", "table")
    low, _ = start("50 hp 460 V 3 ph 62 A LRA 190", starting="soft_starter")
    assert low.start_kva == pytest.approx(ROOT * 0.460 * 190)


def test_a_start_never_asks_less_than_running() -> None:
    found, _ = start("15 hp 460 V 3 ph 21 A LRA 60", starting="autotransformer_50")
    assert found.start_kva == pytest.approx(ROOT * 0.460 * 21)


def test_an_unsure_method_counts_across_the_line_and_is_said() -> None:
    found, findings = start("15 hp 460 V 3 ph 21 A code G", starting="unsure")
    assert (found.method, found.start_kva) == ("across_the_line", pytest.approx(94.35))
    assert findings["start_assumed"].severity == "note"
    assert start("RLA 14 LRA 77 230-1-60", "hvac", "120/240", "unsure")[1] == {}


@pytest.mark.parametrize(
    "method", ["wye_delta", "autotransformer_50", "autotransformer_65", "autotransformer_80",
               "part_winding", "vfd"],
)  # fmt: skip
def test_a_three_phase_method_on_one_phase_is_doubted(method: str) -> None:
    found, findings = start("2 hp 230 V 1 ph LRA 72", "motor", "120/240", method)
    assert (found.method, found.start_kva) == ("across_the_line", pytest.approx(16.56))
    assert findings["start_assumed"].severity == "warning"
    soft, findings = start("2 hp 230 V 1 ph LRA 72", "motor", "120/240", "soft_starter")
    assert (soft.method, findings) == ("soft_starter", {})


def test_amps_alone_start_at_a_multiple_of_running_and_are_asked_about() -> None:
    found, findings = start("21 A 460 V 3 ph")
    assert found.start_kva == pytest.approx(6 * ROOT * 0.460 * 21)
    assert (found.basis, findings["start_assumed"].severity) == ("inrush", "warning")
    cool, findings = start("MCA 32 230-1-60", "hvac", "120/240")
    assert cool.start_kva == pytest.approx(6 * 0.230 * 32 / 1.15)
    assert findings["start_assumed"].severity == "warning"
    assert start("5 kW 12 A 230 V 1 ph", "hvac", "120/240")[0].basis == "inrush"
    assert start("5 hp 230 V 1 ph", "hvac", "120/240")[0].basis == "table"
    fan, _ = start("RLA 22.4 FAN FLA 2.8 1/3 HP 230-3-60", "hvac", "240/120")
    assert fan.start_kva == pytest.approx(6 * ROOT * 0.230 * 25.2)


def test_an_air_conditioner_starts_by_its_locked_rotor_amps() -> None:
    found, _ = start("RLA 14.1 LRA 77 FAN FLA 1.2 208/230-1-60", "hvac", "120/240")
    assert (found.start_kva, found.basis) == (pytest.approx(17.71), "locked_rotor_amps")


def test_beyond_the_tables_a_person_is_asked_and_a_multiple_counts() -> None:
    found, findings = start("600 hp 460 V 3 ph 680 A eff 95 pf 87")
    assert found.start_kva == pytest.approx(6 * ROOT * 0.460 * 680)
    assert findings["outside_table"].severity == "needs_person"
    assert "600 hp is outside" in findings["outside_table"].detail


def test_through_a_transformer_the_start_is_at_the_stamped_voltage() -> None:
    found, _ = start("15 hp 230 V 3 ph 42 A LRA 232")
    assert found.start_kva == pytest.approx(ROOT * 0.230 * 232)
    tabled = start("15 hp 208-230 V 3 ph")[0]
    assert tabled.start_kva == pytest.approx(ROOT * 0.230 * 232)
    plain = start(replace(read_nameplate("15 hp 3 ph"), volts=()))[0]
    assert plain.start_kva == pytest.approx(ROOT * 0.460 * 116)


OTHERS = [
    ("heater", "10 kW 480 V 3 ph", 1.0, 1.0, "none"),
    ("lamp", "1000 W metal halide 480 V", 1.5, 0.5, "inrush"),
    ("lamp", "1000 W 480 V", 1.5, 0.5, "inrush"),
    ("lamp", "400 W LED 277 V", 2.0, 0.9, "inrush"),
    ("lamp", "500 W quartz 277 V", 1.5, 1.0, "inrush"),
    ("panel", "100 A 480Y/277", 1.5, 0.7, "inrush"),
    ("electronics", "1 kVA 277 V", 1.5, 0.9, "inrush"),
    ("ups", "20 kVA 480 V 3 ph", 1.0, 0.9, "none"),
    ("charger", "15 A 480 V 3 ph", 1.0, 0.8, "none"),
    ("welder", "20 A 480 V 3 ph", 1.5, 0.5, "inrush"),
    ("transformer", "45 kVA 480-208Y/120", 5.0, 0.1, "inrush"),
    ("other", "5 kVA 480 V 3 ph", 1.5, 0.5, "inrush"),
]


@pytest.mark.parametrize(("kind", "plate", "multiple", "pf", "basis"), OTHERS)
def test_other_kinds_start_at_a_multiple_of_running(
    kind: str, plate: str, multiple: float, pf: float, basis: str
) -> None:
    demand, _ = load_demand(Load("Load", kind, read_nameplate(plate)), 3, "480Y/277")
    found, _ = start(plate, kind)
    assert demand is not None
    assert found.start_kva == pytest.approx(multiple * demand.running_kva)
    assert (found.start_power_factor, found.basis, found.method) == (pf, basis, "switched_on")


def test_discharge_lamps_are_said_to_strike_late_and_panels_to_hide_a_motor() -> None:
    assert start("1000 W metal halide 480 V", "lamp")[1]["lamp_restrike"].severity == "note"
    assert "20 min" in start("400 W HPS 480 V", "lamp")[1]["lamp_restrike"].detail
    assert "lamp_restrike" in start("400 W mercury vapor 480 V", "lamp")[1]
    assert start("400 W LED 277 V", "lamp")[1] == {}
    panel = start("100 A 480Y/277", "panel")[1]["start_assumed"]
    assert ("1.5 times" in panel.detail, panel.severity) == (True, "note")
    assert start("10 kW 480 V 3 ph", "heater")[1] == {}


def test_an_index_a_name_and_a_quantity_are_carried_along() -> None:
    found, _ = start("15 hp 460 V 3 ph 21 A code G", quantity=3)
    assert (found.index, found.name, found.quantity) == (3, "Load", 3)


@pytest.mark.parametrize(
    ("hp", "pf"), [(0, 0.7), (5, 0.6), (7.5, 0.5), (10, 0.4), (25, 0.3), (50, 0.2), (600, 0.2),
                   (1000, 0.15), (3000, 0.15)]
)  # fmt: skip
def test_starting_power_factor_falls_with_size(hp: float, pf: float) -> None:
    assert starting_power_factor(hp) == pytest.approx(pf)


@given(st.floats(0.1, 1000), st.floats(0, 500))
def test_a_larger_motor_has_no_higher_starting_power_factor(hp: float, more: float) -> None:
    assert starting_power_factor(hp + more) <= starting_power_factor(hp)


def lines(plate: str, system: str = "480Y/277", **fields: Any) -> list[tuple[str, str]]:
    read = read_nameplate(plate)
    demand, _ = load_demand(Load("Load", "motor", read, **fields), 0, system)
    assert demand is not None
    trace = Trace()
    start_demand(demand, read, trace)
    return [(line.line, line.source) for line in trace.lines]


NEC_LETTERS = "NFPA 70 (NEC) 2023, Table 430.7(B)"
IEEE = "IEEE 399 and IEEE 141, 9.5.2; by row"
BOOK = "Air Conditioning & Refrigeration textbook p.140 Table 5-2"


def test_the_worked_sheet_can_be_redone_by_hand() -> None:
    assert lines("15 hp 460 V 3 ph code G", starting="wye_delta") == [
        ("Load: S = 15 hp x 6.29 kVA/hp = 94.35 kVA, code G, top of its band", NEC_LETTERS),
        ("Load: wye_delta: S = 94.35 kVA x 0.33 = 31.14 kVA", f"{BOOK}; Theraja ex. 35.19"),
        ("Load: P = 31.14 kVA x 0.367 = 11.42 kW", IEEE),
    ]


def test_the_root_of_three_is_written_for_three_phases_alone() -> None:
    three = lines("20 hp 460 V 3 ph LRA 145", starting="across_the_line")
    one = lines("2 hp 230 V 1 ph LRA 72", "120/240", starting="across_the_line")
    assert three[0] == (
        "Load: locked rotor S = sqrt(3) x 460 V x 145 A / 1000 = 115.53 kVA", "nameplate",
    )  # fmt: skip
    assert one[0] == ("Load: locked rotor S = 230 V x 72 A / 1000 = 16.56 kVA", "nameplate")


def test_the_sheet_names_the_table_the_size_was_found_in() -> None:
    three = lines("20 hp 460 V 3 ph", starting="across_the_line")[0]
    one = lines("2 hp 230 V 1 ph", "120/240", starting="across_the_line")[0]
    assert three == (
        "Load: locked rotor, 20 hp: at most 145 A at 460 V, S = 115.53 kVA",
        "NFPA 70 (NEC) 2023, Table 430.251(B)",
    )
    assert one == (
        "Load: locked rotor, 2 hp: at most 72 A at 230 V, S = 16.56 kVA",
        "NFPA 70 (NEC) 2023, Table 430.251(A)",
    )


def test_a_limit_a_design_and_a_multiple_are_written_out() -> None:
    soft = lines("50 hp 460 V 3 ph 62 A code G", starting="soft_starter")
    assert soft[1][0] == (
        "Load: soft_starter: S = 49.40 kVA x 4, at most locked rotor, = 197.59 kVA"
    )
    assert lines("15 hp 460 V 3 ph design A")[1][0] == "Load: design A: S = 92.42 kVA x 1.25"
    assert lines("10 hp 460 V 3 ph code V")[0][0] == "Load: S is 224.00 kVA or more, code V"
    assert lines("21 A 460 V 3 ph")[0][0] == "Load: S = 16.73 kVA x 6 = 100.39 kVA"


def test_what_is_switched_on_is_written_out_with_its_multiple() -> None:
    read = read_nameplate("1 kVA 277 V")
    demand, _ = load_demand(Load("Load", "electronics", read), 0, "480Y/277")
    assert demand is not None
    trace = Trace()
    start_demand(demand, read, trace)
    assert trace.lines[0].line == "Load: S = 1.00 kVA x 1.5 = 1.50 kVA at switch-on"


LRA_ASKED = "Load: what are the locked-rotor amps (LRA) on the plate?"
DOUBTS = [
    ("motor", "15 hp 460 V 3 ph code G", "unsure", "start_assumed",
     "starting method not known; across the line counts, the most it can ask.",
     "Load: how is it started: across the line, reduced voltage, soft starter or drive?"),
    ("motor", "2 hp 265 V 1 ph LRA 72", "vfd", "start_assumed",
     "vfd is for three-phase motors; across the line counts.",
     "Load: is it single-phase, and how is it started?"),
    ("motor", "10 hp 460 V 3 ph code V", "across_the_line", "code_letter_open",
     "code V has no upper end; 224 kVA is the least it can be.", LRA_ASKED),
    ("motor", "15 hp 460 V 3 ph", "across_the_line", "start_assumed",
     "no code letter and no locked-rotor amps; the largest that the table allows counts.",
     "Load: what are the code letter and the locked-rotor amps (LRA) on the plate?"),
    ("motor", "15 hp 460 V 3 ph design A", "across_the_line", "code_letter_open",
     "design A has no largest locked-rotor current.", LRA_ASKED),
    ("motor", "21 A 460 V 3 ph", "across_the_line", "start_assumed",
     "locked rotor taken as 6 times running; the plate gives no LRA.", LRA_ASKED),
    ("panel", "100 A 480Y/277", "across_the_line", "start_assumed",
     "what starts behind the panel is not known; 1.5 times running counts.",
     "Load: which is the largest motor behind the panel?"),
    ("lamp", "1000 W metal halide 480 V", "across_the_line", "lamp_restrike",
     "after a dip or a stop they need up to 20 min to strike again.", ""),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "plate", "method", "code", "detail", "question"), DOUBTS)
def test_a_doubt_names_the_load_and_asks_for_what_would_settle_it(
    kind: str, plate: str, method: str, code: str, detail: str, question: str
) -> None:
    doubt = start(plate, kind, starting=method)[1][code]
    assert (doubt.detail, doubt.question) == (f"Load: {detail}", question)


def test_a_motor_beyond_the_table_is_asked_for_its_locked_rotor_amps() -> None:
    doubt = start("600 hp 460 V 3 ph 680 A eff 95 pf 87")[1]["outside_table"]
    assert doubt.question == LRA_ASKED
    assert doubt.detail == (
        "Load: 600 hp is outside 0.5 to 500 hp of table locked_rotor_three_phase; locked rotor "
        "taken as a multiple of running kVA."
    )
    assert start("600 hp 460 V 3 ph 680 A eff 95 pf 87")[0].basis == "inrush"


LETTERS = tuple(row["letter"] for row in table("code_letters").rows)
METHODS = tuple(row["method"] for row in table("starting_methods").rows)


@given(
    st.floats(0.25, 500), st.floats(0, 100), st.sampled_from((None, *LETTERS)),
    st.sampled_from(METHODS), st.sampled_from((208.0, 230.0, 460.0)),
)  # fmt: skip
def test_more_horsepower_never_asks_less_start_kva(
    hp: float, more: float, letter: str | None, method: str, volts: float
) -> None:
    small = Nameplate(hp=hp, volts=(volts,), phases=3, code_letter=letter)
    large = replace(small, hp=min(hp + more, 500.0))
    system = {208.0: "208Y/120", 230.0: "240/120", 460.0: "480Y/277"}[volts]
    assert kva(large, "motor", system, method) >= kva(small, "motor", system, method) - 1e-6


@given(st.sampled_from(LETTERS), st.floats(0.5, 500))
def test_a_later_letter_never_asks_less(letter: str, hp: float) -> None:
    place = LETTERS.index(letter)
    plate = Nameplate(hp=hp, volts=(460.0,), phases=3, code_letter=letter)
    for later in LETTERS[place + 1 :]:
        assert kva(replace(plate, code_letter=later)) >= kva(plate)


@given(st.sampled_from(METHODS), st.floats(1, 500))
def test_no_method_asks_more_than_across_the_line(method: str, hp: float) -> None:
    plate = Nameplate(hp=hp, volts=(460.0,), phases=3, code_letter="G")
    assert kva(plate, starting=method) <= kva(plate) + 1e-9
