"""Plates as they are really stamped and typed, read, checked against themselves, and shown."""

from __future__ import annotations

import contextlib
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sizing.nameplate import (
    LoadDemand,
    Nameplate,
    NameplateRefused,
    as_object,
    explain,
    load_demand,
    missing,
    read_nameplate,
    typical_equipment,
    typical_plate,
)
from sizing.requirement import LOAD_KINDS, SUPPLIES, Load
from sizing.trace import Trace

RANGE = ((208.0, 230.0),)
STAMPED: dict[str, dict[str, Any]] = {
    "HP 15 V 208-230/460 A 42-38/19 PH 3 HZ 60 CODE H SF 1.15 EFF 91.0 PF 84": {
        "hp": 15, "volts": (208, 230, 460), "volt_ranges": RANGE, "amps": (42, 38, 19),
        "phases": 3, "hertz": 60, "code_letter": "H", "service_factor": 1.15,
        "efficiency": 0.91, "power_factor": 0.84,
    },
    "7.5kW 400V 50Hz 3~ cosφ 0.84": {
        "watts": 7500, "volts": (400,), "hertz": 50, "phases": 3, "power_factor": 0.84,
    },
    "MCA 32 MOCP 45 208/230-1-60": {
        "min_circuit_amps": 32, "max_overcurrent_amps": 45, "volts": (208, 230),
        "volt_ranges": RANGE, "phases": 1, "hertz": 60,
    },
    "1500 W 120 V": {"watts": 1500, "volts": (120,)},
    "FLA 21 LRA 128": {
        "amps": (21,), "locked_rotor_amps": 128, "locked_rotor_amps_each": (128,),
    },
    "25 kVA 480-208Y/120": {"kva": 25, "volts": (480,), "secondary": "208Y/120"},
    "125 A 120/240 panel": {"amps": (125,), "system": "120/240", "volts": (120, 240)},
    "15 hp 460 V 3 ph 60 Hz 21 A code G": {
        "hp": 15, "volts": (460,), "phases": 3, "hertz": 60, "amps": (21,), "code_letter": "G",
    },
    "1000 W metal halide 480 V 1 ph": {
        "watts": 1000, "lamp_type": "metal halide", "volts": (480,), "phases": 1,
    },
    "1½ hp, 115/230V, 1PH, 20/10A": {
        "hp": 1.5, "volts": (115, 230), "phases": 1, "amps": (20, 10),
    },
    "15HP/11KW 3Ø 460V-3PH-60HZ FR 254T TEFC INS F AMB 40C 1760RPM": {
        "hp": 15, "shaft_kw": 11, "phases": 3, "volts": (460,), "hertz": 60, "rpm": 1760,
        "noted": ("fr 254t", "ins f", "tefc", "amb 40c"),
    },
    "COMP RLA 14.1 LRA 77 FAN FLA 1.2 208/230-1-60 MCA/MOCP: 19.0/30": {
        "amps": (15.3, 15.3), "locked_rotor_amps": 77, "locked_rotor_amps_each": (77, 77),
        "min_circuit_amps": 19, "max_overcurrent_amps": 30, "volts": (208, 230),
        "volt_ranges": RANGE, "phases": 1, "hertz": 60,
    },
    "Min. Circuit Ampacity 32.0 A Max Fuse 45 A 208/230V 1PH 60HZ": {
        "min_circuit_amps": 32, "max_overcurrent_amps": 45, "volts": (208, 230),
        "volt_ranges": RANGE, "phases": 1, "hertz": 60,
    },
    "HP 5 PH 3 VOLTS 208-230/460 AMPS 15.2-14.4/7.2 R.P.M. 1750 HZ 60 S.F. 1.15 CODE J DES B "
    "NEMA NOM EFF 87.5 P.F. 81.5 DUTY CONT": {
        "hp": 5, "phases": 3, "volts": (208, 230, 460), "volt_ranges": RANGE,
        "amps": (15.2, 14.4, 7.2), "rpm": 1750, "hertz": 60, "service_factor": 1.15,
        "code_letter": "J", "design_letter": "B", "efficiency": 0.875, "power_factor": 0.815,
        "duty": "cont",
    },
    "400VΔ/690VY 16,2/9,4 A 7,5 kW 1465 min-1 cos φ = 0,84 IE3 90,4% IP55 Th.Cl. F S1": {
        "volts": (400, 690), "amps": (16.2, 9.4), "shaft_kw": 7.5, "rpm": 1465,
        "power_factor": 0.84, "efficiency": 0.904, "duty": "s1", "noted": ("th.cl. f", "ip55"),
    },
    "230/400V 50Hz Δ/Y 8.7/5.0A 2.2kW": {
        "volts": (230, 400), "hertz": 50, "amps": (8.7, 5), "watts": 2200, "noted": ("δ/y",),
    },
    "FLA @ 460V: 19, HP: 15": {"amps": (19,), "volts": (460,), "hp": 15},
    "4x1000W MH 120/208/240/277V": {
        "pieces": 4, "watts": 1000, "lamp_type": "metal halide", "volts": (120, 208, 240, 277),
        "volt_ranges": ((208.0, 240.0),),
    },
    "4-1000 watt metal halide 240V": {
        "pieces": 4, "watts": 1000, "lamp_type": "metal halide", "volts": (240,),
    },
    "500 W halogen x 4 120 V": {
        "pieces": 4, "watts": 500, "lamp_type": "incandescent", "volts": (120,),
    },
    "(6) 1500W MH 480V": {
        "pieces": 6, "watts": 1500, "lamp_type": "metal halide", "volts": (480,),
    },
    "LED 567 W 120-277 V 50/60Hz": {
        "lamp_type": "led", "watts": 567, "volts": (120, 277), "volt_ranges": ((120.0, 277.0),),
        "hertz": 60, "noted": ("50/60 hz",),
    },
    "120/240V 1PH 3W 60HZ 100A main breaker": {
        "system": "120/240", "volts": (120, 240), "phases": 1, "hertz": 60, "amps": (100,),
    },
    "200 amp service 120/208Y 3ph 4w": {
        "amps": (200,), "system": "208Y/120", "volts": (120, 208), "phases": 3,
    },
    "75 kVA 480V Delta - 208Y/120V 3PH 60HZ Z 3.5%": {
        "kva": 75, "volts": (480,), "secondary": "208Y/120", "phases": 3, "hertz": 60,
        "noted": ("z 3.5%",),
    },
    "45 kVA 480D-208Y/120": {"kva": 45, "volts": (480,), "secondary": "208Y/120"},
    "15 kVA 480 V primary 120/240 V secondary": {
        "kva": 15, "volts": (480,), "secondary": "120/240",
    },
    "30kVA 277/480 to 120/208": {"kva": 30, "volts": (480,), "secondary": "208Y/120"},
    "INPUT 120VAC 12A 60Hz OUTPUT 24VDC 40A battery charger": {
        "volts": (120,), "amps": (12,), "hertz": 60,
        "noted": ("output 24vdc 40a battery charger",),
    },
    "20 kVA 18 kW UPS input 208V 3PH 60A output 208V 55A": {
        "kva": 20, "watts": 18000, "volts": (208,), "phases": 3, "amps": (60,),
        "noted": ("output 208v 55a",),
    },
    "3 ton a/c 208/230V": {"cooling_btu_h": 36000, "volts": (208, 230), "volt_ranges": RANGE},
    "36,000 BTU/H 230V": {"cooling_btu_h": 36000, "volts": (230,)},
    "1-1/2 HP 230 V": {"hp": 1.5, "volts": (230,)},
    "1/3 HP 115V 6.6A PF .62": {
        "hp": pytest.approx(1 / 3), "volts": (115,), "amps": (6.6,), "power_factor": 0.62,
    },
    "20 hp 480 volts 3 phase soft start": {
        "hp": 20, "volts": (480,), "phases": 3, "noted": ("soft start",),
    },
    "15 hp 230/460V 60Hz usable at 208V 46A 38/19 A": {
        "hp": 15, "volts": (208, 230, 460), "hertz": 60, "amps": (46, 38, 19),
    },
    "50 hp 460/3/60 kva code G": {
        "hp": 50, "volts": (460,), "phases": 3, "hertz": 60, "code_letter": "G",
    },
    "5 hp 460-60-3": {"hp": 5, "volts": (460,), "phases": 3, "hertz": 60},
    "5 hp 3/60/460": {"hp": 5, "volts": (460,), "phases": 3, "hertz": 60},
    "5 hp 3-460-60": {"hp": 5, "volts": (460,), "phases": 3, "hertz": 60},
    "5 hp 460/3": {"hp": 5, "volts": (460,), "phases": 3},
    "10hp 230/460 3/60": {"hp": 10, "volts": (230, 460), "phases": 3, "hertz": 60},
    "kVA code K 3 HP 3PH 230/460": {
        "code_letter": "K", "hp": 3, "phases": 3, "volts": (230, 460),
    },
    "20 hp KVA G 460 V": {"hp": 20, "code_letter": "G", "volts": (460,)},
    "HP 20 KVA G 460 V": {"hp": 20, "code_letter": "G", "volts": (460,)},
    "Model ABC-123 S/N 99-1234 5 HP 230V": {
        "hp": 5, "volts": (230,), "noted": ("model abc-123", "s/n 99-1234"),
    },
    "welder 230V 1ph 50A 60% duty": {
        "volts": (230,), "phases": 1, "amps": (50,), "noted": ("60% duty",),
    },
    "L6-20 plug 240V 12A": {"volts": (240,), "amps": (12,), "noted": ("l6-20",)},
    "LRA 128/64 230/460V 20 hp 3ph 50/25 a": {
        "locked_rotor_amps": 128, "locked_rotor_amps_each": (128, 64), "volts": (230, 460),
        "hp": 20, "phases": 3, "amps": (50, 25),
    },
    "115/208-230V 9.8/5.4-4.9A 1/2 HP": {
        "volts": (115, 208, 230), "volt_ranges": RANGE, "amps": (9.8, 5.4, 4.9), "hp": 0.5,
    },
    "208-230/460 V 38/19 A 15 hp": {
        "volts": (208, 230, 460), "volt_ranges": RANGE, "amps": (38, 38, 19), "hp": 15,
    },
    "460V 3 PH 15 HP w/ float switch": {
        "volts": (460,), "phases": 3, "hp": 15, "noted": ("float switch",),
    },
    "60~ 3~ 460V": {"hertz": 60, "phases": 3, "volts": (460,)},
    "HP15 V460 PH3 HZ60 A21": {
        "hp": 15, "volts": (460,), "phases": 3, "hertz": 60, "amps": (21,),
    },
    "V:208-230/460 Hz:60 Ph:3 FLA:28-27/13.5": {
        "volts": (208, 230, 460), "volt_ranges": RANGE, "hertz": 60, "phases": 3,
        "amps": (28, 27, 13.5),
    },
    "pump 5 hp 3-phase, 230 and 460 volts": {"hp": 5, "phases": 3, "volts": (230, 460)},
    "1 hp 12 A 115V 1725/1425 rpm": {
        "hp": 1, "amps": (12,), "volts": (115,), "rpm": 1725, "noted": ("1725/1425 rpm",),
    },
    "30 A 480V 3 phase 3 wire": {"amps": (30,), "volts": (480,), "phases": 3},
    "１５ hp ４６０ V": {"hp": 15, "volts": (460,)},
    "A 21 V 460 HP 15 PH 3": {"amps": (21,), "volts": (460,), "hp": 15, "phases": 3},
    "Voltage 460 Amps 52 RPM 1775 HP 40 Eff. 93 Code G": {
        "volts": (460,), "amps": (52,), "rpm": 1775, "hp": 40, "efficiency": 0.93,
        "code_letter": "G",
    },
    "230V 10A 1PH 60HZ 1.5 HP SF 1.3 SFA 11.5 code N": {
        "volts": (230,), "amps": (10,), "phases": 1, "hertz": 60, "hp": 1.5,
        "service_factor": 1.3, "service_factor_amps": (11.5,), "code_letter": "N",
    },
    "FLA: 4.8 A | LRA: 32 A | 460 V | 3 Ø": {
        "amps": (4.8,), "locked_rotor_amps": 32, "locked_rotor_amps_each": (32,),
        "volts": (460,), "phases": 3,
    },
    "0.48 kV 10 A": {"volts": (480,), "amps": (10,)},
    "230-460 V 10 hp": {"volts": (230, 460), "hp": 10},
    "1500 VA 120 V": {"kva": 1.5, "volts": (120,)},
    "single phase 3 hp 230 V": {"phases": 1, "hp": 3, "volts": (230,)},
    "three-phase 3 hp 230 V poly phase": {"phases": 3, "hp": 3, "volts": (230,)},
    "3 hp 230 V continuous duty": {"hp": 3, "volts": (230,), "duty": "continuous"},
    "1000W HPS 120/240": {
        "watts": 1000, "lamp_type": "high pressure sodium", "system": "120/240",
        "volts": (120, 240),
    },
    "RLA 14 230 V": {"amps": (14,), "volts": (230,)},
    "Compressor RLA 22.4 LRA 149 208/230-3-60 fan FLA 2.8 1/3 HP": {
        "amps": (25.2, 25.2), "locked_rotor_amps": 149, "locked_rotor_amps_each": (149, 149),
        "volts": (208, 230), "volt_ranges": RANGE, "phases": 3, "hertz": 60,
        "hp": pytest.approx(1 / 3),
    },
    "P2 5.5kW  I 11.2A  U 400V 3~ 50Hz": {
        "watts": 5500, "amps": (11.2,), "volts": (400,), "phases": 3, "hertz": 50,
    },
    "230v 1~ I1max 38A I1eff 24A": {
        "volts": (230,), "phases": 1, "amps": (38,), "noted": ("i1eff 24a",),
    },
    "380-415V 50Hz / 440-480V 60Hz 11kW 21/19A": {
        "volts": (380, 415, 440, 480), "volt_ranges": ((380.0, 415.0), (440.0, 480.0)),
        "hertz": 60, "noted": ("60 hz",), "watts": 11000, "amps": (21, 19),
    },
    "60 Hz 60 hertz 460 V": {"hertz": 60, "volts": (460,)},
    "1000w mh ballast 120/208/240/277": {
        "watts": 1000, "lamp_type": "metal halide", "volts": (120, 208, 240, 277),
        "volt_ranges": ((208.0, 240.0),),
    },
    "460V ±10% 3ph 15 hp": {"volts": (460,), "phases": 3, "hp": 15, "noted": ("±10%",)},
    "100A 240/120 single phase": {
        "amps": (100,), "system": "120/240", "volts": (240, 120), "phases": 1,
    },
    "100A 240/120 3 ph": {
        "amps": (100,), "system": "240/120", "volts": (240, 120), "phases": 3,
    },
    "max amps 12 at 230 volts": {"service_factor_amps": (12,), "volts": (230,)},
    "2/1 hp 460 V": {"hp": 2, "volts": (460,), "noted": ("2/1 hp",)},
    "10 kW 12 kW 240 V": {"watts": 10000, "volts": (240,), "not_understood": ("12 kw",)},
    "1500 W 2 kW 120 V": {"watts": 1500, "volts": (120,)},
}  # fmt: skip
EMPTY = Nameplate()


@pytest.mark.parametrize("text", STAMPED)
def test_a_plate_is_read_in_full(text: str) -> None:
    plate = read_nameplate(text)
    for name, value in {"not_understood": (), **STAMPED[text]}.items():
        assert getattr(plate, name) == value, name
    unsaid = {
        name
        for name in as_object(plate)
        if name not in STAMPED[text] and name not in ("text", "typical", "not_understood")
    }
    assert unsaid == set()


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("15 hp 460 V zz 99", ("zz", "99")),
        ("15 hp 460", ("460",)),
        ("5 hp 230 V code Q", ("code", "q")),
        ("15 hp 20 hp 460 V", ("20 hp",)),
        ("3 HP 3PH 230/460 9.6/4.8", ("9.6/4.8",)),
        ("3 pumps 15 hp", ("3", "pumps")),
    ],
)
def test_what_is_not_understood_is_listed_back(text: str, words: tuple[str, ...]) -> None:
    assert read_nameplate(text).not_understood == words


@pytest.mark.parametrize(
    ("text", "code", "words"),
    [
        ("15 horse", "nothing_understood", "“horse”"),
        ("460", "nothing_understood", "“460”"),
        ("", "nothing_understood", "the plate is empty"),
        ("TEFC", "nothing_understood", "“tefc”"),
        ("-15 hp", "negative", "minus sign"),
        ("15 hp, -460 V", "negative", "minus sign"),
        ("40,000 hp", "absurd", "hp of 40,000 hp is not between 0.01 and 5,000 hp"),
        ("15 hp 460,000 V", "absurd", "volts of 460,000 V"),
        ("2 ph 15 hp", "not_a_choice", "one phase or three"),
        ("15,6,7 hp 460 V", "not_a_number", "“15,6,7 hp”"),
        ("x" * 1001, "too_long", "at most 1,000"),
    ],
)
def test_a_plate_that_cannot_be_read_is_refused_with_a_sentence(
    text: str, code: str, words: str
) -> None:
    with pytest.raises(NameplateRefused) as refusal:
        read_nameplate(text)
    assert [p.code for p in refusal.value.problems] == [code]
    assert words in refusal.value.problems[0].message


@given(st.text(max_size=80))
def test_any_text_is_read_or_refused(text: str) -> None:
    with contextlib.suppress(NameplateRefused):
        assert read_nameplate(text).text == text.strip()


HEAP = (
    "15 hp", "460 V", "230/460", "208-230", "3 ph", "60 Hz", "21 A", "42/21", "code G", "HP 15",
    "V", "A", "PH", "x", "/", "-", "½", "LRA 128", "MCA 32", "1,5", "cosφ", "kVA", "480-208Y/120",
    "metal halide", "4x1000W", "@", "eff 91", "sf", "50/60", "~", "input", "output 5", "3/60", "Δ",
    "usable at 208V", "5 hp 460/3", "% ", "(", ")", ",", ".", "1 1/2", "ton",
)  # fmt: skip


@given(st.lists(st.sampled_from(HEAP), max_size=12))
def test_any_heap_of_stamped_pieces_is_read_or_refused(pieces: list[str]) -> None:
    try:
        plate = read_nameplate(" ".join(pieces))
    except NameplateRefused:
        return
    assert read_nameplate(as_object(plate)) == plate


@given(st.sampled_from(sorted(STAMPED)))
def test_a_plate_survives_as_an_object(text: str) -> None:
    plate = read_nameplate(text)
    assert read_nameplate(as_object(plate)) == plate


def test_an_object_is_read_field_by_field() -> None:
    plate = read_nameplate({
        "hp": 15, "volts": "208-230/460 V", "amps": "42-38/19 A", "phases": 3, "hertz": "60 Hz",
        "code_letter": "g", "power_factor": "85 %", "efficiency": 91, "watts": None,
        "kva": "unsure", "locked_rotor_amps": 128, "pieces": 2, "lamp_type": " led ",
        "cooling_btu_h": 36000,
    })  # fmt: skip
    assert (plate.volts, plate.amps) == ((208, 230, 460), (42, 38, 19))
    assert (plate.volt_ranges, plate.code_letter, plate.lamp_type) == (RANGE, "G", "led")
    assert (plate.power_factor, plate.efficiency, plate.pieces) == (0.85, 0.91, 2)
    assert (plate.watts, plate.kva, plate.locked_rotor_amps) == (None, None, 128)


def test_lists_and_ranges_of_an_object_are_kept() -> None:
    plate = read_nameplate({"volts": [208, 230], "volt_ranges": [[230, 208]], "amps": 12})
    assert (plate.volts, plate.volt_ranges, plate.amps) == ((208, 230), RANGE, (12,))
    stated = read_nameplate({"volts": "208-230", "volt_ranges": [[200, 230]]})
    assert stated.volt_ranges == ((200, 230),)
    assert read_nameplate({"hp": 5, "amps": "12"}).amps == (12,)


@pytest.mark.parametrize(
    ("given", "path", "code"),
    [
        ({"horses": 15}, "horses", "unknown_field"),
        ({"hp": "15 horse"}, "hp", "unknown_unit"),
        ({"hp": -15}, "hp", "negative"),
        ({"hp": True}, "hp", "not_a_number"),
        ({"hp": 40000}, "hp", "absurd"),
        ({"efficiency": 0}, "efficiency", "absurd"),
        ({"power_factor": 120}, "power_factor", "absurd"),
        ({"phases": 2}, "phases", "malformed"),
        ({"phases": True}, "phases", "malformed"),
        ({"phases": 3.0}, "phases", "malformed"),
        ({"code_letter": "Q"}, "code_letter", "malformed"),
        ({"volts": [[1]]}, "volts", "not_a_number"),
        ({"volts": "many"}, "volts", "not_a_number"),
        ({"volt_ranges": 5}, "volt_ranges", "malformed"),
        ({"volt_ranges": [[1, 2, 3]]}, "volt_ranges", "malformed"),
        ({"volt_ranges": ["208-230"]}, "volt_ranges", "malformed"),
        ({"lamp_type": 5}, "lamp_type", "malformed"),
        ({"noted": "x"}, "noted", "malformed"),
        ({"noted": [5]}, "noted", "malformed"),
        ({"pieces": 2.5}, "pieces", "malformed"),
        ({}, "", "nothing_understood"),
        ([], "", "malformed"),
        (15, "", "malformed"),
    ],
)
def test_an_object_that_cannot_be_read_names_the_field(given: Any, path: str, code: str) -> None:
    with pytest.raises(NameplateRefused) as refusal:
        read_nameplate(given)
    assert [(p.path, p.code) for p in refusal.value.problems] == [(path, code)]


def test_all_problems_of_an_object_come_at_once() -> None:
    with pytest.raises(NameplateRefused) as refusal:
        read_nameplate({"hp": "x", "volts": [-1], "foo": 1})
    assert {p.path for p in refusal.value.problems} == {"hp", "volts", "foo"}
    assert str(refusal.value).count(";") >= 2


def test_what_was_understood_is_shown_with_its_source() -> None:
    shown = explain(read_nameplate("15 hp 208-230/460 V eff 91 TEFC zz"))
    assert shown == [
        ("Power", "15 hp", "read from text"),
        ("Voltage", "208 / 230 / 460 V", "read from text"),
        ("Efficiency", "91 %", "read from text"),
        ("Noted, no bearing on the set", "tefc", "read from text"),
        ("Not understood", "zz", "read from text"),
    ]
    assert explain(read_nameplate({"power_factor": 0.84, "hp": 5, "service_factor": 1.15})) == [
        ("Power", "5 hp", "stamped"),
        ("Power factor", "0.84", "stamped"),
        ("Service factor", "1.15", "stamped"),
    ]


@pytest.mark.parametrize(
    ("text", "kind", "lacking"),
    [
        ("15 hp 460 V 3 ph 21 A code G", "pump", []),
        ("15 hp", "pump", ["voltage (V)", "phases (PH)", "full-load amps (FLA)",
                           "code letter or locked-rotor amps (LRA)"]),
        ("RLA 14 LRA 77 230-1-60", "hvac", []),
        ("1500 W", "heater", ["voltage (V)"]),
        ("1000 W 480 V", "lamp", ["kind of lamp"]),
        ("100 A 120/240", "panel", []),
        ("25 kVA 480 V", "transformer", ["secondary voltage"]),
        ("120 V", "electronics", ["watts, kVA or amps"]),
        ("230 V", "welder", ["input amps or kVA", "phases (PH)"]),
    ],
)  # fmt: skip
def test_what_is_missing_is_named(text: str, kind: str, lacking: list[str]) -> None:
    assert missing(read_nameplate(text), kind) == lacking


@pytest.mark.parametrize("kind", LOAD_KINDS)
def test_every_kind_lacks_something_on_an_empty_plate(kind: str) -> None:
    assert missing(EMPTY, kind)


def test_typical_pieces_are_marked_and_say_enough_to_be_sized() -> None:
    for piece in typical_equipment():
        plate = typical_plate(piece.code)
        assert (plate.typical, plate.not_understood) == (True, ())
        demands = [figures(piece.kind, plate, system) for system in SUPPLIES]
        assert any(demand is not None for demand, _ in demands)


def figures(
    kind: str, plate: Nameplate | str, system: str = "480Y/277", **fields: Any
) -> tuple[LoadDemand | None, dict[str, Any]]:
    read = read_nameplate(plate) if isinstance(plate, str) else plate
    trace = Trace()
    load = Load("Load", kind, read, **fields)
    demand, findings = load_demand(load, 3, system, trace)
    plain, again = load_demand(load, 3, system)
    assert (plain, again) == (demand, findings)
    assert all(f.subject == "loads[3].nameplate" and "Load" in f.detail for f in findings)
    assert demand is None or trace.lines
    return demand, {f.code: f for f in reversed(findings)}


def lines(kind: str, plate: str, system: str = "480Y/277") -> list[tuple[str, str]]:
    trace = Trace()
    load_demand(Load("Load", kind, read_nameplate(plate)), 0, system, trace)
    assert {line.chapter for line in trace.lines} == {"nameplate"}
    return [(line.line, line.source) for line in trace.lines]


def test_the_worked_sheet_can_be_redone_by_hand() -> None:
    assert lines("motor", "15 hp 460 V 3 ph") == [
        ("Load: P = 15 hp x 0.7457 / 0.91 = 12.29 kW",
         "NEMA MG 1-2018 Table 12-11, enclosed 4-pole"),
        ("Load: full-load current of the table, S = sqrt(3) x 460 V x 21 A / 1000 = 16.73 kVA",
         "NFPA 70 (NEC) 2023, Table 430.250"),
    ]  # fmt: skip
    assert lines("motor", "2 hp 230 V 1 ph 11 A eff 80", "120/240") == [
        ("Load: P = 2 hp x 0.7457 / 0.8 = 1.86 kW", "nameplate"),
        ("Load: S = 230 V x 11 A / 1000 = 2.53 kVA", "nameplate"),
    ]
    assert lines("motor", "2 hp 230 V 1 ph", "120/240")[1][1] == "NFPA 70 (NEC) 2023, Table 430.248"


def test_every_other_kind_writes_its_lines_too() -> None:
    assert lines("heater", "5 kW 240 V 1 ph", "208Y/120")[0][0] == (
        "Load: P = 5.00 kW x (208 V / 240 V)^2 = 3.76 kW"
    )
    assert lines("lamp", "4 x 1000 W metal halide 480 V")[0][0] == (
        "Load: P = 4 x 1000 W lamp, 1100 W with ballast = 4400 W"
    )
    assert [line for line, _ in lines("hvac", "MCA 32 230-1-60", "120/240")] == [
        "Load: I = minimum circuit ampacity 32 A / 1.15 = 27.83 A",
        "Load: S = 230 V x 27.83 A / 1000 = 6.40 kVA",
    ]
    assert lines("hvac", "3 ton 230 V 1 ph", "120/240")[0][0] == (
        "Load: P = 36,000 Btu/h / 9 Btu/Wh = 4.00 kW"
    )
    assert lines("panel", "125 A 120/240", "120/240")[1][0] == (
        "Load: P = 27.00 kW, S = 30.00 kVA, power factor 0.90"
    )


def demand_of(kind: str, plate: str, system: str = "480Y/277", **fields: Any) -> LoadDemand:
    demand, _ = figures(kind, plate, system, **fields)
    assert demand is not None
    return demand


def codes(kind: str, plate: str, system: str = "480Y/277", **fields: Any) -> set[str]:
    return set(figures(kind, plate, system, **fields)[1])


def test_stamped_figures_beat_tables() -> None:
    plate = "15 hp 460 V 3 ph 19 A eff 93 pf 80"
    found = demand_of("pump", plate)
    assert found.running_kw == pytest.approx(15 * 0.7457 / 0.93)
    assert found.running_kva == pytest.approx(3**0.5 * 0.460 * 19)
    assert (found.power_factor, found.hp, found.amps) == (0.80, 15, pytest.approx(19))


def test_stamped_kva_stands_where_no_amps_are() -> None:
    assert demand_of("pump", "15 hp 460 V 3 ph 18 kVA").running_kva == 18


def test_shaft_kilowatts_are_output_and_watts_on_a_motor_too() -> None:
    by_kw = demand_of("motor", "11 kW 1760 rpm 460 V 3 ph")
    by_watts = demand_of("motor", "11 kW 460 V 3 ph")
    assert by_kw.running_kw == by_watts.running_kw == pytest.approx(11 / 0.895)


def test_a_motor_by_amps_alone_takes_its_power_factor_from_the_table() -> None:
    found = demand_of("motor", "21 A 460 V 3 ph")
    assert found.running_kva == pytest.approx(16.7316, rel=1e-4)
    assert found.running_kw == pytest.approx(found.running_kva * found.power_factor)
    assert found.power_factor == pytest.approx(0.832, abs=0.01)
    assert demand_of("motor", "16 kVA 460 V 3 ph").running_kva == 16
    assert demand_of("motor", "max amps 12 230 V 1 ph", "120/240").amps == pytest.approx(12)


def test_circuit_ampacity_and_locked_rotor_are_not_running_amps() -> None:
    assert demand_of("motor", "MCA 32 460 V 3 ph").amps == pytest.approx(32 / 1.25)
    assert demand_of("hvac", "MCA 32 460 V 3 ph").amps == pytest.approx(32 / 1.15)
    assert demand_of("motor", "LRA 126 460 V 3 ph").amps == pytest.approx(126 / 6)
    assert demand_of("motor", "LRA 126 230/460 V 3 ph", "240/120").amps == pytest.approx(42)


def test_an_air_conditioner_counts_the_larger_of_cooling_and_heat() -> None:
    cooling = demand_of("hvac", "RLA 14.1 FAN FLA 1.2 230-1-60 5 kW", "120/240")
    assert cooling.running_kva == pytest.approx(5.0)
    assert cooling.power_factor == 1.0
    cool = demand_of("hvac", "RLA 24 FAN FLA 1.2 230-1-60 3 kW", "120/240")
    assert cool.running_kva == pytest.approx(0.230 * 25.2)
    by_size = demand_of("hvac", "3 ton 230 V 1 ph", "120/240")
    assert by_size.running_kw == pytest.approx(36000 / 9000)
    heat = demand_of("hvac", "5 kW 230 V 1 ph", "120/240")
    assert (heat.running_kw, heat.hp) == (5.0, None)
    fan = demand_of("hvac", "RLA 22.4 FAN FLA 2.8 1/3 HP 230-3-60", "240/120")
    assert fan.running_kva == pytest.approx(3**0.5 * 0.230 * 25.2)
    assert demand_of("hvac", "4 kVA 230 V 1 ph", "120/240").running_kva == 4
    assert demand_of("hvac", "5 hp 230 V 1 ph", "120/240").hp == 5


def test_a_heater_gives_power_by_the_square_of_the_voltage() -> None:
    found = demand_of("heater", "5 kW 240 V 1 ph", "208Y/120")
    assert found.running_kw == found.running_kva == pytest.approx(5 * (208 / 240) ** 2)
    assert found.volts == 208
    assert demand_of("heater", "10 A 120 V", "120/240").running_kw == pytest.approx(1.2)
    assert demand_of("heater", "5 kVA 480 V 1 ph").running_kw == 5
    far = demand_of("heater", "5 kW 240 V 1 ph", "480Y/277")
    assert far.running_kw == pytest.approx(5 * 1.03)


@pytest.mark.parametrize(
    ("plate", "watts"),
    [
        ("1000 W metal halide 480 V", 1100),
        ("400 W HPS 480 V", 460),
        ("600 W metal halide 480 V", 780),
        ("1000 W 480 V", 1300),
        ("4 x 1000 W metal halide 480 V", 4400),
        ("500 W LED 480 V", 500),
        ("500 W quartz 277 V", 500),
    ],
)
def test_a_lamp_takes_its_ballast_with_it(plate: str, watts: float) -> None:
    assert demand_of("lamp", plate).running_kw == pytest.approx(watts / 1000)


def test_output_ratings_take_their_losses_and_input_amps_do_not() -> None:
    ups = demand_of("ups", "20 kVA 18 kW 208 V 3 ph", "208Y/120")
    assert (ups.running_kva, ups.running_kw) == (pytest.approx(24), pytest.approx(21.6))
    assert ups.nonlinear_kva == pytest.approx(24)
    charger = demand_of("charger", "16 A 240 V 1 ph", "120/240")
    assert charger.running_kva == pytest.approx(3.84)
    trafo = demand_of("transformer", "25 kVA 480-208Y/120")
    assert (trafo.running_kva, trafo.phases) == (pytest.approx(25.75), 3)


def test_stamped_watts_and_amps_together_give_the_power_factor() -> None:
    found = demand_of("electronics", "900 W 10 A 120 V", "120/240")
    assert (found.running_kw, found.running_kva) == (0.9, pytest.approx(1.2))
    assert found.power_factor == pytest.approx(0.75)
    stated = demand_of("electronics", "900 W 10 A 120 V pf 0.8", "120/240")
    assert stated.power_factor == 0.8
    over = demand_of("electronics", "1300 W 10 A 120 V", "120/240")
    assert over.running_kva == pytest.approx(1.3)
    assert demand_of("other", "MCA 20 240 V 1 ph", "120/240").amps == pytest.approx(20)


def test_an_amps_only_panel_counts_its_rating() -> None:
    found = demand_of("panel", "125 A 120/240 panel", "120/240", demand_factor=0.6)
    assert (found.running_kva, found.demand_factor) == (pytest.approx(30), 0.6)
    assert "panel_rating" not in codes("panel", "125 A 120/240", "120/240", demand_factor=0.6)
    assert "panel_rating" in codes("panel", "125 A 120/240", "120/240")


def test_a_load_through_a_transformer_is_counted_on_its_primary_side() -> None:
    found = demand_of("motor", "15 hp 230 V 3 ph 42 A")
    assert (found.via, found.volts, found.connection) == ("transformer", 480, "line_line")
    assert found.running_kva == pytest.approx(16.7316 * 1.03, rel=1e-4)
    assert found.amps == pytest.approx(found.running_kva / 0.480 / 3**0.5)


def test_via_says_whether_the_plate_was_single_or_tapped() -> None:
    assert demand_of("motor", "15 hp 460 V 3 ph").via == "direct"
    assert demand_of("motor", "15 hp 230/460 V 3 ph").via == "other_tap"


def test_a_drive_is_nonlinear_and_a_float_switch_restarts() -> None:
    found = demand_of("pump", "15 hp 460 V 3 ph", starting="vfd", float_switch=True)
    assert found.nonlinear_kva == found.running_kva
    assert (found.float_switch, found.restarts_itself) == (True, True)
    plain = demand_of("pump", "15 hp 460 V 3 ph", restarts_itself=True, starts_after="a")
    assert (plain.float_switch, plain.restarts_itself, plain.starts_after) == (False, True, "a")
    assert plain.nonlinear_kva == 0


def test_a_three_phase_load_has_no_place_on_one_phase() -> None:
    demand, findings = figures("motor", "15 hp 230 V 3 ph 42 A", "120/240")
    assert demand is None
    assert findings == {}


def test_a_fifty_hertz_plate_still_gives_a_provisional_demand() -> None:
    assert demand_of("motor", "7.5kW 400V 50Hz 3~ cosφ 0.84").power_factor == 0.84


def test_an_empty_plate_goes_to_a_person() -> None:
    demand, findings = figures("heater", EMPTY)
    assert demand is None
    assert findings["nameplate_incomplete"].severity == "needs_person"
    for kind in ("motor", "hvac", "panel"):
        assert figures(kind, EMPTY)[0] is None
    assert figures("motor", "460 V 3 ph")[0] is None


def test_a_size_outside_the_tables_goes_to_a_person() -> None:
    demand, findings = figures("motor", "600 hp 460 V 3 ph")
    assert demand is None
    assert findings["outside_table"].evidence["high"] == 500
    stamped = demand_of("motor", "600 hp 460 V 3 ph 680 A eff 95 pf 87")
    assert stamped.running_kw == pytest.approx(600 * 0.7457 / 0.95)
    assert demand_of("motor", "250 hp 208 V 3 ph", "208Y/120").running_kva > 200
    small = demand_of("motor", "1/4 hp 460 V 3 ph")
    assert small.running_kva == demand_of("motor", "1/2 hp 460 V 3 ph").running_kva


CONTRADICTIONS = [
    ("motor", "20 hp 460 V 3 ph 68 A", "68 A stamped, 20 hp at 460 V, 3 phase draws about 27 A"),
    ("motor", "15 hp 230 V 3 ph 21 A", "21 A stamped, 15 hp at 230 V, 3 phase draws about 42 A"),
    ("motor", "2 hp 460 V 3 ph 1.2 A", "1.2 A stamped, 2 hp at 460 V, 3 phase draws about 3.4 A"),
    ("motor", "15 hp 230/460 V 3 ph 42/30 A", "30 A stamped, 15 hp at 460 V"),
    ("motor", "230/460 V 3 ph 42/30 A", "42 A at 230 V and 30 A at 460 V are not the same power"),
    ("motor", "15 hp 460 V 21 A 26 A 3 ph", "21 A and 26 A for 1 voltage"),
    ("motor", "21 A 34 A 3 ph", "21 A and 34 A for no voltage"),
    ("motor", "15 hp 15 kW 460 V 3 ph", "15 hp is 11.2 kW, 15 kW is stamped"),
    ("motor", "15 hp 460 V 3 ph 21 A pf 60 eff 70", "give 7.03 kW, 15 hp is 11.2 kW"),
    ("motor", "15 hp 460 V 3 ph LRA 115 code L", "115 A locked rotor is 6.11 kVA per hp, code L"),
    ("motor", "21 A LRA 30 460 V 3 ph", "30 A locked rotor over 21 A running"),
    ("motor", "3 hp 460 V 3 ph 1425 rpm", "1425 rpm is a slip of 20.8 % at 60 Hz and 5.0 %"),
    ("hvac", "RLA 40 MCA 32 230-1-60", "minimum circuit ampacity 32 A is less than running"),
    ("hvac", "MCA 32 MOCP 30 230-1-60", "maximum overcurrent device 30 A is less than minimum"),
    ("heater", "1500 W 120 V 20 A", "1.5 kW stamped, 120 V x 20 A is 2.4 kVA"),
    ("electronics", "5 kVA 120 V 10 A", "5 kVA stamped, 120 V x 10 A is 1.2 kVA"),
]


@pytest.mark.parametrize(("kind", "plate", "words"), CONTRADICTIONS, ids=lambda v: str(v)[:40])
def test_a_contradiction_names_both_figures(kind: str, plate: str, words: str) -> None:
    _, findings = figures(kind, plate, "480Y/277")
    found = findings["nameplate_contradiction"]
    assert words in found.detail
    assert "band" in found.detail
    assert found.question
    assert found.evidence["band_low"] <= found.evidence["band_high"]


AGREEING = [
    ("motor", "HP 15 V 208-230/460 A 42-38/19 PH 3 HZ 60 CODE H SF 1.15 EFF 91.0 PF 84"),
    ("motor", "15 hp 11 kW 460 V 3 ph 21 A LRA 116 code G 1760 rpm"),
    ("motor", "1 hp 460 V 3 ph 1.3 A 3450 rpm"),
    ("motor", "5 hp 230 V 1 ph 28 A LRA 168"),
    ("motor", "600 hp 460 V 3 ph 680 A eff 95"),
    ("motor", "15 hp LRA 116 3 ph"),
    ("motor", "20 hp 230/460 V 3 ph LRA 145 code G"),
    ("motor", "10 hp 460 V 3 ph LRA 300 code V"),
    ("motor", "20 hp 230/460 V 3 ph LRA 290/145"),
    ("hvac", "RLA 14.1 LRA 77 FAN FLA 1.2 208/230-1-60 MCA 19 MOCP 30"),
    ("hvac", "RLA 22.4 LRA 149 FAN FLA 2.8 1/3 HP 208/230-3-60"),
    ("heater", "1500 W 120 V 12.5 A"),
    ("lamp", "1000 W metal halide 480 V 2.4 A"),
    ("ups", "20 kVA 208 V 3 ph 80 A"),
]


@pytest.mark.parametrize(("kind", "plate"), AGREEING, ids=lambda v: str(v)[:40])
def test_a_plate_that_agrees_with_itself_raises_no_contradiction(kind: str, plate: str) -> None:
    found = codes(kind, plate)
    assert "nameplate_contradiction" not in found
    assert "locked_rotor_outlier" not in found


def test_stamped_amps_far_too_low_do_not_make_the_load_smaller() -> None:
    found = demand_of("motor", "15 hp 230 V 3 ph 21 A", "240/120")
    assert found.running_kva == pytest.approx(16.7316, rel=1e-4)
    evidence = figures("motor", "15 hp 230 V 3 ph 21 A", "240/120")[1]["nameplate_contradiction"]
    assert evidence.evidence["fits_volts"] == (460.0, 575.0)


def test_an_impossible_locked_rotor_current_is_an_outlier() -> None:
    _, findings = figures("motor", "15 hp 460 V 3 ph LRA 900 code G")
    assert findings["locked_rotor_outlier"].evidence["kva_per_hp"] == pytest.approx(47.8, abs=0.1)


def test_what_was_not_understood_becomes_a_finding() -> None:
    _, findings = figures("heater", "1500 W 120 V blue", "120/240")
    assert findings["nameplate_not_understood"].severity == "note"
    _, findings = figures("heater", "1500 W 120 V 99", "120/240")
    assert findings["nameplate_not_understood"].severity == "warning"


def test_several_pieces_on_a_plate_that_is_no_lamp_are_asked_about() -> None:
    _, findings = figures("pump", "5 hp 460 V 3 ph x 2")
    assert findings["nameplate_not_understood"].evidence == {"pieces": 2, "quantity": 1}
    assert "nameplate_not_understood" not in codes("pump", "5 hp 460 V 3 ph x 1")


def test_unstamped_phases_are_said_where_they_matter() -> None:
    _, findings = figures("motor", "15 hp 460 V")
    assert findings["nameplate_incomplete"].evidence == {"assumed_phases": 3}
    assert "nameplate_incomplete" in codes("heater", "30 kW 480 V")
    assert "nameplate_incomplete" not in codes("heater", "1500 W 120 V", "120/240")
    assert "nameplate_incomplete" not in codes("panel", "100 A 120/240", "120/240")


def test_a_typical_piece_is_said_and_on_three_phases_goes_to_a_person() -> None:
    three = replace(read_nameplate("15 hp 230/460 V 3 ph"), typical=True)
    single = replace(read_nameplate("1/2 hp 115 V 1 ph"), typical=True)
    assert figures("pump", three)[1]["typical_equipment"].severity == "needs_person"
    assert figures("pump", single, "120/240")[1]["typical_equipment"].severity == "warning"


@pytest.mark.parametrize(
    ("plate", "words"),
    [
        ({"hp": 15, "volts": 460, "phases": 3}, ": 15 hp, 460 V, 3 ph. "),
        ({"watts": 1000, "volts": 120, "lamp_type": "halogen"}, ": 1,000 W, halogen, 120 V. "),
        ("1/2 hp 115 V 1 ph", ": 1/2 hp 115 V 1 ph. "),
    ],
)
def test_what_stands_in_for_a_plate_is_named_with_all_its_figures(plate: Any, words: str) -> None:
    given = replace(read_nameplate(plate), typical=True)
    kind = "lamp" if given.watts else "pump"
    finding = figures(kind, given, "480Y/277" if given.phases == 3 else "120/240")[1]
    assert words in finding["typical_equipment"].detail
    assert "the real one may ask for more" in finding["typical_equipment"].detail


@given(st.sampled_from(sorted(STAMPED)), st.sampled_from(LOAD_KINDS), st.sampled_from(SUPPLIES))
def test_any_plate_of_any_kind_on_any_system_gives_figures_or_says_why_not(
    text: str, kind: str, system: str
) -> None:
    demand, findings = load_demand(Load("x", kind, read_nameplate(text)), 0, system)
    if demand is None:
        return
    assert demand.running_kva >= demand.running_kw > 0
    assert demand.amps > 0
    assert 0 < demand.power_factor <= 1
    assert all(f.detail for f in findings)


@given(st.floats(0.25, 500), st.floats(0, 100))
def test_more_horsepower_never_draws_less(hp: float, more: float) -> None:
    small = replace(EMPTY, hp=hp, volts=(460.0,), phases=3)
    large = replace(small, hp=min(hp + more, 500.0))
    first, second = (figures("motor", plate)[0] for plate in (small, large))
    assert first is not None
    assert second is not None
    assert second.running_kva >= first.running_kva - 1e-9
