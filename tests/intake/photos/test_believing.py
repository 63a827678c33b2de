"""A reader that loses a decimal point is caught by the plate's other figures, or said to be unsure.

Full-load currents: NFPA 70 (NEC 2023) tables 430.248 and 430.250, from memory.
"""

from __future__ import annotations

import pytest

from intake.photos.believing import LEAST_CONFIDENCE, UNCHECKED, in_doubt
from intake.photos.suggestion import SURE, suggestion_from
from intake.questions.equipment import EQUIPMENT_KINDS
from intake.questions.typical import typical_equipment
from sizing.nameplate import read_nameplate
from tests.intake.photos.test_layout import line


def test_a_current_ten_times_too_large_is_missed_rather_than_wrong() -> None:
    """10 hp at 460 V draws 14 A; a lost point makes it 140."""
    found = suggestion_from([line("10 HP 460 V 3 PH", 0, 0), line("FLA 140", 0, 80)])
    assert found["text"] == "10 HP 460 V 3 PH"
    assert found["fields"]["hp"] < SURE  # one of the two was misread
    assert found["fields"]["volts"] >= SURE


def test_a_power_ten_times_too_large_is_missed_with_its_current() -> None:
    """7.5 hp read as 75; 11 A at 460 V belong to 7.5 hp."""
    found = suggestion_from(
        [line("75 HP", 0, 0), line("460 V 3 PH", 0, 80), line("11 AMPS", 0, 160)]
    )
    assert found["text"] == "460 V 3 PH"


def test_a_list_of_currents_with_one_that_cannot_be_is_missed_alone() -> None:
    """22-20/10 A read as 2220/10: the 10 A confirm the power, so the power stays."""
    found = suggestion_from(
        [line("7.5 HP", 0, 0), line("208-230/460 V 3 PH", 0, 80), line("2220/10 A", 0, 160)]
    )
    assert found["text"] == "7.5 HP 208-230/460 V 3 PH"


def test_a_large_current_that_its_power_confirms_stays_sure() -> None:
    """100 hp at 460 V draws 124 A."""
    found = suggestion_from([line("100 HP 460 V 3 PH", 0, 0), line("FLA 124", 0, 80)])
    assert found["fields"]["amps"] >= SURE


@pytest.mark.parametrize(("read", "field"), [("MCA 342", "min_circuit_amps"), ("125 A", "amps")])
def test_three_figures_that_nothing_checks_are_to_be_looked_at(read: str, field: str) -> None:
    found = suggestion_from([line("208 V 3 PH", 0, 0), line(read, 0, 80)])
    assert found["fields"][field] == UNCHECKED < SURE


def test_what_was_hardly_read_is_not_offered() -> None:
    hardly = LEAST_CONFIDENCE - 0.01
    found = suggestion_from([line("15 HP 460 V", 0, 0), line("21 A", 0, 80, sure=hardly)])
    assert found["text"] == "15 HP 460 V"
    assert {"text": "21 A", "confidence": hardly} in found["lines"]


@pytest.mark.parametrize(
    "plate",
    [typical.plate for typical in typical_equipment().values()]
    + [kind.example for kind in EQUIPMENT_KINDS.values()],
)
def test_true_plates_are_not_doubted(plate: str) -> None:
    assert in_doubt(read_nameplate(plate)) == frozenset()
