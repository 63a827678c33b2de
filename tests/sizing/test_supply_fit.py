"""The edges of how one plate suits one system: size, winding, connection, near misses."""

from __future__ import annotations

import pytest

from sizing.plate import Nameplate
from sizing.plate_reading import read_nameplate
from sizing.supply_fit import Fit, phases_assumed, phases_of, suits


def fit(plate: str, system: str, kind: str = "motor") -> Fit:
    return suits(read_nameplate(plate), kind, system)


def wound(system: str, *volts: float) -> Fit:
    """Fit of a three-phase motor with these windings, unrounded."""
    return suits(Nameplate(hp=10.0, volts=volts, phases=3), "motor", system)


@pytest.mark.parametrize(
    ("kind", "plate", "assumed"),
    [
        ("motor", "5 hp 230 V", True),
        ("motor", "5 hp 230 V 1 ph", False),
        ("heater", "5 kW 240 V", True),
        ("panel", "100 A 240 V", True),
        ("panel", "100 A 120/240 panel", False),
        ("transformer", "25 kVA 480-120/240", False),
    ],
)
def test_phases_are_assumed_where_neither_they_nor_a_system_is_stamped(
    kind: str, plate: str, assumed: bool
) -> None:
    assert phases_assumed(read_nameplate(plate), kind) is assumed


def test_only_a_panel_is_stamped_with_the_system_it_hangs_on() -> None:
    plate = Nameplate(watts=5000.0, system="208Y/120")
    assert phases_assumed(plate, "heater")
    assert not phases_assumed(plate, "panel")


@pytest.mark.parametrize(
    ("kind", "plate", "system", "phases"),
    [
        ("motor", "5 kVA 230 V", "240/120", 1),
        ("motor", "5.1 kVA 230 V", "240/120", 3),
        ("motor", "2 hp 300 V", "480Y/277", 1),
        ("motor", "2 hp 301 V", "480Y/277", 3),
        ("motor", "2 hp 230/460 V", "480Y/277", 3),
        ("motor", "2.2 kW 1750 rpm 230 V", "240/120", 1),
        ("motor", "2.3 kW 1750 rpm 230 V", "240/120", 3),
        ("heater", "15.01 kW 240 V", "240/120", 3),
    ],
)
def test_the_size_from_which_three_phases_are_taken(
    kind: str, plate: str, system: str, phases: int
) -> None:
    """Over 3 hp, 5 kVA or 300 V for a motor, over 15 kVA for the rest."""
    assert phases_of(read_nameplate(plate), kind, system) == phases


@pytest.mark.parametrize(
    ("draws", "connection"),
    [
        ("1920 W", "line_neutral"), ("1921 W", "line_line"),
        ("16 A", "line_neutral"), ("16.01 A", "line_line"), ("20/10 A", "line_line"),
        ("1.92 kVA", "line_neutral"), ("1.93 kVA", "line_line"),
    ],
)  # fmt: skip
def test_a_plug_carries_sixteen_amperes_at_120_volts(draws: str, connection: str) -> None:
    assert fit(f"{draws} 100-240 V", "120/240", "electronics").connection == connection


def test_a_three_phase_load_is_never_put_to_neutral() -> None:
    assert fit("10 kW 277 V 3 ph", "480Y/277", "heater").verdict == "transformer"
    assert fit("10 kW 277 V 1 ph", "480Y/277", "heater").connection == "line_neutral"


@pytest.mark.parametrize(("windings", "nearer"), [((200, 215), 215), ((205, 218), 205)])
def test_of_two_windings_in_the_band_the_nearer_is_connected(
    windings: tuple[float, float], nearer: float
) -> None:
    """208 V is 4.0 % over 200 and 3.3 % under 215; 1.5 % over 205 and 4.6 % under 218."""
    found = wound("208Y/120", *windings)
    assert (found.rated_volts, found.verdict) == (nearer, "other_tap")


@pytest.mark.parametrize("volts", [480 / 1.1, 436.5, 480 / 0.95])
def test_the_ends_of_a_band_belong_to_it(volts: float) -> None:
    """NEMA MG 1 12.44.1: +10 %, and -10 % of which 5 % stay free for set and leads."""
    assert wound("480Y/277", volts).carried


@pytest.mark.parametrize(
    ("plate", "named"),
    [
        ("2000 W 400 V 1 ph", "gives 480 V, +20.0 % on 400 V"),
        ("2000 W 250 V 1 ph", "gives 277 V, +10.8 % on 250 V"),
        ("2000 W 230/400 V 1 ph", "gives 480 V, +20.0 % on 400 V"),
    ],
)
def test_what_is_named_is_the_closest_pair(plate: str, named: str) -> None:
    found = fit(plate, "480Y/277", "lamp")
    assert (found.verdict, named in found.reason) == ("transformer", True)
    assert found.reason.startswith(f"stamped {plate.split()[2]} V; 480Y/277 {named} (")


@pytest.mark.parametrize(("volts", "near"), [(398.9, True), (398, False)])
def test_a_near_miss_ends_at_a_fifth_and_a_half(volts: float, near: bool) -> None:
    """480 V lies 20.33 % over 398.9 V and 20.60 % over 398 V; the limit is 20.5 %."""
    assert wound("480Y/277", volts).near_miss is near


def test_a_voltage_that_fits_is_no_near_miss() -> None:
    assert not fit("15 hp 460 V 3 ph", "480Y/277").near_miss
    assert not fit("100 A 208Y/120 panel", "208Y/120", "panel").near_miss
    assert fit("100 A 208Y/120 panel", "208Y/120", "panel").reason == "stamped 208Y/120"


def test_the_reasons_can_be_read_out() -> None:
    """They stand on the worked sheet and in what a rep reads."""
    panel = fit("100 A 120/240 panel", "208Y/120", "panel")
    assert panel.reason == "stamped 120/240; 208Y/120 gives 208 V between lines"
    delta = fit("100 A 120/240 panel", "240/120", "panel").reason
    assert delta == "stamped 120/240: between the two legs that are not the high leg"
    assert fit("15 hp 230 V 3 ph", "120/240").reason == "three-phase; 120/240 is single-phase"
    hertz = fit("15 hp 460 V 3 ph 50 Hz", "480Y/277").reason
    assert hertz == "stamped 50 Hz; the sets run at 60 Hz"
