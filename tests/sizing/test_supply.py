"""Which system suits which plate, and what is done when not all loads fit one."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sizing.finding import Finding
from sizing.plate import Nameplate
from sizing.plate_reading import read_nameplate
from sizing.requirement import LOAD_KINDS, Load, Requirement, read_requirement
from sizing.supply import SupplyPlan, likely_system, phases_of, settle_supply, step_down, suits
from sizing.supply_fit import SYSTEMS, Fit
from sizing.trace import Trace

SITE = read_requirement(
    {"application": "other", "supply": "480Y/277", "loads": [{"nameplate": "1500 W 480 V"}]}
).site


def fit(plate: str, system: str, kind: str = "motor") -> Fit:
    return suits(read_nameplate(plate), kind, system)


def plan(system: str | None, *loads: tuple[str, str], **fields: Any) -> SupplyPlan:
    rows = tuple(
        Load(f"Load {i}", kind, read_nameplate(text) if text else Nameplate(), **fields)
        for i, (kind, text) in enumerate(loads)
    )
    trace = Trace()
    asked = Requirement("other", system, SITE, rows, supply_unsure=system is None)
    found = settle_supply(asked, trace)
    assert settle_supply(asked) == found
    assert len(trace.lines) == len(found.per_load)
    return found


def finding(found: SupplyPlan, code: str) -> Finding:
    (one,) = [f for f in found.findings if f.code == code]
    return one


def codes(found: SupplyPlan) -> list[str]:
    return [f.code for f in found.findings]


PAIRS = [
    # three-phase motors: stamped volts, then the verdict on each system in the order of SYSTEMS
    ("200", "never fine transformer transformer"),
    ("208", "never fine transformer transformer"),
    ("220", "never transformer transformer fine"),
    ("230", "never transformer transformer fine"),
    ("240", "never transformer transformer fine"),
    ("208-230", "never fine transformer fine"),
    ("380", "never transformer transformer transformer"),
    ("400", "never transformer transformer transformer"),
    ("415", "never transformer transformer transformer"),
    ("440", "never transformer fine transformer"),
    ("460", "never transformer fine transformer"),
    ("480", "never transformer fine transformer"),
    ("575", "never transformer transformer transformer"),
    ("600", "never transformer transformer transformer"),
    ("230/460", "never transformer other_tap other_tap"),
    ("208-230/460", "never other_tap other_tap other_tap"),
    ("200/400", "never other_tap transformer transformer"),
    ("4160", "never transformer transformer transformer"),
]


@pytest.mark.parametrize(("volts", "verdicts"), PAIRS)
def test_every_pair_of_motor_voltage_and_system_is_decided(volts: str, verdicts: str) -> None:
    found = [fit(f"15 hp {volts} V 3 ph", system).verdict for system in SYSTEMS]
    assert found == verdicts.split()


SINGLE = [
    ("motor", "1 hp 115 V 1 ph", "fine fine transformer fine"),
    ("motor", "1 hp 110 V 1 ph", "fine fine transformer fine"),
    ("motor", "1 hp 230 V 1 ph", "fine transformer transformer fine"),
    ("motor", "1 hp 200 V 1 ph", "transformer fine transformer transformer"),
    ("motor", "1 hp 265 V 1 ph", "transformer transformer fine transformer"),
    ("motor", "1 hp 115/230 V 1 ph", "other_tap other_tap transformer other_tap"),
    ("hvac", "MCA 32 208/230-1-60", "fine fine transformer fine"),
    ("heater", "1500 W 120 V", "fine fine transformer fine"),
    ("heater", "5 kW 240 V 1 ph", "fine fine transformer fine"),
    ("heater", "5 kW 208 V 1 ph", "transformer fine transformer transformer"),
    ("heater", "5 kW 277 V 1 ph", "fine transformer fine fine"),
    ("lamp", "1000 W metal halide 480 V", "transformer transformer fine transformer"),
    ("lamp", "400 W LED 120-277 V", "fine fine fine fine"),
    ("lamp", "1000 W MH 120/208/240/277 V", "other_tap other_tap other_tap other_tap"),
    ("electronics", "1500 W 120 V", "fine fine transformer fine"),
    ("electronics", "100 W 100-240 V", "fine fine transformer fine"),
    ("charger", "48 A 208-240 V 1 ph", "fine fine transformer fine"),
    ("welder", "230 V 50 A 1 ph", "fine fine transformer fine"),
    ("transformer", "25 kVA 480-120/240", "transformer transformer fine transformer"),
    ("panel", "100 A 240 V 1 ph", "fine transformer transformer fine"),
    ("pump", "1 hp 230 V 1 ph", "fine transformer transformer fine"),
    ("compressor", "1 hp 230 V 1 ph", "fine transformer transformer fine"),
    ("ups", "2 kVA 120 V", "fine fine transformer fine"),
    ("other", "2 kVA 120 V", "fine fine transformer fine"),
]


@pytest.mark.parametrize(("kind", "plate", "verdicts"), SINGLE)
def test_every_kind_is_decided_by_its_own_band(kind: str, plate: str, verdicts: str) -> None:
    assert [fit(plate, system, kind).verdict for system in SYSTEMS] == verdicts.split()


PANELS = [
    ("120/240", "fine transformer transformer fine"),
    ("208Y/120", "never fine transformer transformer"),
    ("480Y/277", "never transformer fine transformer"),
    ("240/120", "never transformer transformer fine"),
    ("600Y/347", "never transformer transformer transformer"),
]


@pytest.mark.parametrize(("stamped", "verdicts"), PANELS)
def test_a_panel_takes_the_system_it_is_stamped_with(stamped: str, verdicts: str) -> None:
    found = [fit(f"100 A {stamped} panel", system, "panel").verdict for system in SYSTEMS]
    assert found == verdicts.split()


def test_the_band_of_a_motor_ends_where_it_says() -> None:
    """NEMA MG 1 12.44.1: +-10 %, of which 5 % stay free below for set and leads."""
    verdicts = {v: fit(f"15 hp {v} V 3 ph", "480Y/277").verdict for v in (436, 437, 505, 506)}
    assert verdicts == {436: "transformer", 437: "fine", 505: "fine", 506: "transformer"}


def test_the_band_of_a_heater_ends_where_it_says() -> None:
    found = {v: fit(f"5 kW {v} V 3 ph", "208Y/120", "heater").verdict for v in (198, 199, 244, 245)}
    assert found == {198: "transformer", 199: "fine", 244: "fine", 245: "transformer"}


def test_a_fit_says_which_winding_gets_which_volts() -> None:
    found = fit("15 hp 208-230/460 V 3 ph", "208Y/120")
    assert (found.volts, found.rated_volts, found.connection) == (208, 208, "line_line")
    assert found.reason == "connected for 208-230 V, gets 208 V"
    high = fit("15 hp 208-230/460 V 3 ph", "480Y/277")
    assert (high.rated_volts, high.off_percent) == (460, pytest.approx(4.348, abs=1e-3))
    assert high.reason == "connected for 460 V, gets 480 V"
    assert fit("15 hp 460 V 3 ph", "480Y/277").reason == "stamped 460 V, gets 480 V"


def test_single_phase_loads_sit_between_lines_where_they_can() -> None:
    assert fit("1 hp 115/230 V 1 ph", "120/240").connection == "line_line"
    assert fit("1 hp 115 V 1 ph", "120/240").connection == "line_neutral"
    assert fit("1000 W MH 277/480", "480Y/277", "lamp").connection == "line_line"
    assert fit("100 W 100-240 V", "120/240", "electronics").connection == "line_neutral"
    assert fit("5 kW 100-240 V", "120/240", "electronics").connection == "line_line"
    assert fit("10 A 100-240 V", "120/240", "electronics").connection == "line_neutral"
    assert fit("30 A 100-240 V", "120/240", "electronics").connection == "line_line"
    assert fit("2 kVA 100-240 V", "120/240", "electronics").connection == "line_line"
    assert fit("100-240 V", "120/240", "electronics").connection == "line_line"


def test_a_voltage_that_fits_nothing_names_how_far_off_it_is() -> None:
    found = fit("15 hp 230 V 3 ph", "208Y/120")
    assert "208Y/120 gives 208 V, -9.6 % on 230 V" in found.reason
    assert "NEMA MG 1" in found.reason
    assert (found.volts, found.rated_volts, found.off_percent) == (0, 0, 0)


@pytest.mark.parametrize(
    ("plate", "system", "near"),
    [
        ("15 hp 230 V 3 ph", "208Y/120", True),
        ("15 hp 200 V 3 ph", "240/120", True),
        ("15 hp 400 V 3 ph", "480Y/277", True),
        ("15 hp 575 V 3 ph", "480Y/277", True),
        ("15 hp 380 V 3 ph", "480Y/277", False),
        ("15 hp 230 V 3 ph", "480Y/277", False),
        ("15 hp 460 V 3 ph", "208Y/120", False),
        ("1 hp 240 V 1 ph", "480Y/277", False),
        ("1 hp 100 V 1 ph", "120/240", True),
    ],
)
def test_a_near_miss_is_told_from_another_voltage(plate: str, system: str, near: bool) -> None:
    assert fit(plate, system).near_miss is near


def test_panels_of_the_low_voltage_systems_miss_each_other_nearly() -> None:
    assert fit("100 A 120/240 panel", "208Y/120", "panel").near_miss
    assert not fit("100 A 120/240 panel", "480Y/277", "panel").near_miss
    assert not fit("100 A 480Y/277 panel", "208Y/120", "panel").near_miss


def test_frequency_and_phases_come_before_voltage() -> None:
    hertz = fit("7.5kW 400V 50Hz 3~", "480Y/277")
    assert (hertz.verdict, hertz.carried) == ("never", False)
    assert "50 Hz" in hertz.reason
    assert "three-phase" in fit("15 hp 230 V 3 ph", "120/240").reason
    assert fit("15 hp 460 V 3 ph 60 Hz", "480Y/277").carried


def test_a_plate_without_voltage_is_unknown() -> None:
    assert suits(Nameplate(hp=15, phases=3), "motor", "480Y/277").verdict == "unknown"
    bare = Nameplate(system="208Y/120", amps=(20,), phases=3)
    assert suits(bare, "motor", "208Y/120").verdict == "unknown"


@pytest.mark.parametrize(
    ("kind", "plate", "system", "phases"),
    [
        ("motor", "15 hp 460 V 1 ph", "480Y/277", 1),
        ("motor", "15 hp 230 V", "240/120", 3),
        ("motor", "15 hp 230 V", "120/240", 1),
        ("motor", "3 hp 230 V", "240/120", 1),
        ("motor", "4 hp 230 V", "240/120", 3),
        ("motor", "2 kW 1750 rpm 230 V", "240/120", 1),
        ("motor", "3 kW 1750 rpm 230 V", "240/120", 3),
        ("motor", "6 kW 230 V", "240/120", 3),
        ("motor", "2 hp 460 V", "480Y/277", 3),
        ("motor", "2 hp", "480Y/277", 1),
        ("heater", "15 kW 240 V", "240/120", 1),
        ("heater", "16 kW 240 V", "240/120", 3),
        ("ups", "20 kVA 480 V", "480Y/277", 3),
        ("lamp", "1000 W 480 V", "480Y/277", 1),
        ("panel", "100 A 120/240", "240/120", 1),
        ("panel", "100 A 208Y/120", "480Y/277", 3),
        ("panel", "100 A 208 V", "208Y/120", 3),
        ("panel", "100 A 120 V", "208Y/120", 1),
        ("transformer", "25 kVA 480-120/240", "480Y/277", 1),
        ("transformer", "25 kVA 480-208Y/120", "480Y/277", 3),
    ],
)
def test_unstamped_phases_follow_size_volts_and_system(
    kind: str, plate: str, system: str, phases: int
) -> None:
    assert phases_of(read_nameplate(plate), kind, system) == phases


@given(
    st.sampled_from(LOAD_KINDS), st.sampled_from(SYSTEMS),
    st.lists(st.sampled_from((115.0, 208.0, 230.0, 277.0, 400.0, 460.0, 575.0)), max_size=3),
    st.sampled_from((None, 1, 3)), st.sampled_from((None, 50.0, 60.0)),
)  # fmt: skip
def test_a_carried_voltage_always_lies_in_a_band_around_a_stamped_one(
    kind: str, system: str, volts: list[float], phases: int | None, hertz: float | None
) -> None:
    plate = Nameplate(hp=5, volts=tuple(volts), phases=phases, hertz=hertz)
    found = suits(plate, kind, system)
    assert found.carried == (found.volts > 0)
    if found.carried:
        assert found.rated_volts in volts
        assert -15 <= found.off_percent <= 10


def test_all_loads_on_one_system_need_no_more_words() -> None:
    found = plan("480Y/277", ("pump", "15 hp 460 V 3 ph"), ("lamp", "1000 W MH 480 V"))
    assert (found.system, found.options, found.step_down) == ("480Y/277", (), None)
    assert found.findings == ()


def test_the_worked_sheet_says_how_each_load_fits() -> None:
    rows = (Load("Pump", "pump", read_nameplate("15 hp 230/460 V 3 ph")),)
    trace = Trace()
    settle_supply(Requirement("other", "480Y/277", SITE, rows), trace)
    (line,) = trace.lines
    assert line.chapter == "supply"
    assert line.line == "Pump on 480Y/277: other_tap; connected for 460 V, gets 480 V"
    assert line.source.startswith("nominal systems of ANSI C84.1")


def test_a_tap_is_noted_and_lost_heat_too() -> None:
    found = plan("208Y/120", ("motor", "15 hp 208-230/460 V 3 ph"), ("heater", "5 kW 240 V 1 ph"))
    assert codes(found) == ["other_tap", "reduced_heat"]
    assert "75 % of its heat" in finding(found, "reduced_heat").detail
    assert all(f.severity == "note" for f in found.findings)
    assert codes(plan("240/120", ("heater", "5 kW 240 V 3 ph"))) == []
    assert codes(plan("208Y/120", ("motor", "15 hp 200 V 3 ph"))) == []


@pytest.mark.parametrize(
    ("plate", "code"),
    [
        ("15 hp 230 V 3 ph", "voltage_mismatch"),
        ("15 hp 400 V 50 Hz 3 ph", "frequency_mismatch"),
        ("15 hp 3 ph", "nameplate_incomplete"),
    ],
)
def test_a_conflict_goes_to_a_person_with_a_question(plate: str, code: str) -> None:
    found = finding(plan("208Y/120", ("motor", plate)), code)
    assert (found.severity, found.subject) == ("needs_person", "loads[0].nameplate")
    assert found.question
    assert found.evidence["supply"] == "208Y/120"


def test_three_phases_on_a_single_phase_supply_go_to_a_person() -> None:
    found = finding(plan("120/240", ("motor", "15 hp 230 V 3 ph")), "phase_mismatch")
    assert found.severity == "needs_person"


def test_an_unsure_supply_goes_to_a_person_even_where_all_plates_agree() -> None:
    found = plan(None, ("pump", "15 hp 460 V 3 ph"), ("lamp", "1000 W MH 480 V"))
    doubt = finding(found, "supply_unsure")
    assert (found.system, doubt.severity) == ("480Y/277", "needs_person")
    assert "480Y/277" in doubt.question
    assert doubt.evidence["rows_carried"]["480Y/277"] == 2


def test_without_any_voltage_no_system_is_likely() -> None:
    found = plan(None, ("pump", "15 hp"), ("pump", ""))
    assert (found.system, found.per_load, codes(found)) == (None, (), ["supply_unsure"])
    assert finding(found, "supply_unsure").evidence["likely_system"] is None


@pytest.mark.parametrize(
    ("plates", "system"),
    [
        (["1500 W 120 V"], "120/240"),
        (["1 hp 230 V 1 ph", "1 hp 115 V 1 ph"], "120/240"),
        (["15 hp 208-230/460 V 3 ph"], "480Y/277"),
        (["15 hp 230 V 3 ph"], "240/120"),
        (["15 hp 208 V 3 ph", "1 hp 115 V 1 ph"], "208Y/120"),
        (["15 hp 460 V 3 ph", "10 hp 460 V 3 ph", "1 hp 115 V 1 ph"], "480Y/277"),
        (["15 hp 575 V 3 ph"], None),
        (["50 hp 460 V 3 ph", "1 hp 115 V 1 ph", "1 hp 230 V 1 ph"], "480Y/277"),
        (["5 hp 460 V 3 ph", "20 hp 208 V 3 ph"], "208Y/120"),
        (["115 V 1 ph", "115 V 1 ph", "460 V 1 ph"], "120/240"),
    ],
)
def test_the_likely_system_carries_the_most_rows(plates: list[str], system: str | None) -> None:
    rows = tuple(Load("x", "motor", read_nameplate(text)) for text in plates)
    assert likely_system(rows) == system


PUMP, HEATER, LAMPS = ("pump", "50 hp 460 V 3 ph"), ("heater", "1500 W 120 V"), (
    "lamp", "1000 W metal halide 120 V",
)  # fmt: skip


def test_a_small_second_voltage_takes_a_transformer_first() -> None:
    found = plan("480Y/277", PUMP, ("heater", "5 kW 240 V 1 ph"))
    assert found.options == ("transformer", "two_sets", "person")
    doubt = finding(found, "two_voltages")
    assert (doubt.severity, doubt.evidence["rows"]) == ("warning", (1,))
    assert found.step_down is not None
    assert (found.step_down.kva, found.step_down.phases) == (7.5, 1)
    assert (found.step_down.primary, found.step_down.secondary) == ("480Y/277", "120/240")
    assert found.step_down.losses_kw == pytest.approx(0.03 * 7.5)
    assert found.step_down.inrush_kva == pytest.approx(5 * 7.5)
    assert found.step_down.load_kva == pytest.approx(5 * 1.03)
    assert "7.5 kVA transformer to 120/240" in doubt.detail


def test_plug_in_loads_may_come_from_receptacles_apart_from_the_selector() -> None:
    found = plan("480Y/277", PUMP, HEATER)
    assert found.options == ("transformer", "receptacles", "two_sets", "person")
    large = plan("480Y/277", PUMP, ("heater", "5 kW 120 V 1 ph"))
    assert "receptacles" not in large.options


def test_a_large_second_voltage_takes_a_second_set_first() -> None:
    found = plan("480Y/277", ("pump", "5 hp 460 V 3 ph"), ("motor", "15 hp 208 V 3 ph"))
    assert found.options == ("two_sets", "transformer", "person")
    assert found.step_down is not None
    assert (found.step_down.secondary, found.step_down.phases) == ("208Y/120", 3)


def test_no_load_is_fed_by_stepping_up() -> None:
    found = plan("208Y/120", ("motor", "15 hp 208 V 3 ph"), PUMP)
    assert (found.step_down, found.options) == (None, ("two_sets", "person"))
    doubt = finding(found, "two_voltages")
    assert doubt.severity == "needs_person"
    assert "a second set, then a person decides" in doubt.detail


def test_a_transformer_over_the_usual_sizes_comes_after_a_second_set() -> None:
    big = ("pump", "500 hp 460 V 3 ph")
    found = plan("480Y/277", big, ("motor", "100 hp 208 V 3 ph"))
    assert found.step_down is not None
    assert (found.step_down.kva, found.options[0]) == (112.5, "two_sets")


def test_loads_of_several_other_systems_have_no_one_transformer() -> None:
    found = plan("480Y/277", PUMP, ("motor", "5 hp 208 V 3 ph"), ("motor", "5 hp 240 V 3 ph"))
    assert (found.step_down, found.options) == (None, ("two_sets", "person"))
    assert finding(found, "two_voltages").severity == "needs_person"
    none = plan("480Y/277", PUMP, HEATER, ("lamp", "100 W LED 347 V"))
    assert (none.step_down, none.options) == (None, ("person",))
    far = plan("480Y/277", PUMP, ("motor", "200 hp 208 V 3 ph"), quantity=10)
    assert (far.step_down, far.options) == (None, ("two_sets", "person"))


def test_a_supply_that_fits_no_load_at_all_goes_to_a_person() -> None:
    found = plan("480Y/277", HEATER)
    assert finding(found, "two_voltages").severity == "needs_person"
    assert found.options[0] == "two_sets"


def test_a_load_without_size_does_not_hide_the_others() -> None:
    found = plan("480Y/277", PUMP, ("heater", "120 V"))
    assert found.step_down is not None
    assert (found.step_down.load_kva, found.step_down.kva) == (0, 1)
    alone = plan("480Y/277", ("heater", "120 V"))
    assert alone.options == ("two_sets", "transformer", "person")


def test_quantity_and_demand_factor_size_the_transformer() -> None:
    rows = tuple(
        replace(Load("x", kind, read_nameplate(text)), quantity=q, demand_factor=0.5)
        for kind, text, q in ((*PUMP, 1), (*HEATER, 12))
    )
    found = step_down(rows, [1], "480Y/277")
    assert found is not None
    assert found.load_kva == pytest.approx(12 * 0.5 * 1.5 * 1.03)
    assert found.kva == 10
    assert step_down(rows, [], "480Y/277") is None


def test_the_high_leg_bears_none_of_the_120_volt_load_and_little_of_it_in_all() -> None:
    little = plan("240/120", ("motor", "15 hp 230 V 3 ph"), HEATER)
    doubt = finding(little, "high_leg")
    assert (doubt.severity, doubt.question) == ("warning", "")
    assert "208 V to neutral" in doubt.detail
    share = 100 * 1.5 / (1.5 + 3**0.5 * 0.230 * 42)
    assert doubt.evidence["share_percent"] == pytest.approx(share, abs=0.06)
    much = plan("240/120", ("motor", "5 hp 230 V 3 ph"), ("panel", "100 A 120/240 panel"))
    assert finding(much, "high_leg").severity == "needs_person"
    assert finding(much, "high_leg").evidence["limit_percent"] == 25
    assert "high_leg" not in codes(plan("240/120", ("motor", "15 hp 230 V 3 ph")))
    assert "high_leg" not in codes(plan("240/120", ("motor", "15 hp 230 V 3 ph"), ("pump", "")))
    assert "high_leg" not in codes(plan("208Y/120", HEATER))


def test_a_single_phase_panel_on_a_delta_sits_on_two_legs() -> None:
    assert fit("100 A 120/240 V panel", "240/120", "panel").phases == 1


def test_a_delta_panel_nearly_misses_a_208_volt_supply() -> None:
    assert fit("100 A 240/120 V 3 ph panel", "208Y/120", "panel").near_miss


def test_of_two_windings_that_both_suit_the_nearer_is_taken() -> None:
    plate = Nameplate(hp=10.0, volts=(200.0, 220.0), phases=3)
    assert "connected for 200 V" in suits(plate, "motor", "208Y/120").reason


def test_the_voltage_named_is_the_one_that_comes_nearest() -> None:
    assert "gives 277 V" in fit("2000 W 100 V 1 ph", "480Y/277", "heater").reason


def test_receptacles_apart_serve_only_where_every_load_has_a_plug() -> None:
    found = plan("480Y/277", PUMP, HEATER, ("heater", "20 kW 240 V 1 ph"))
    assert "receptacles" not in found.options
