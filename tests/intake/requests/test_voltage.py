"""Plates and plugs lead to the voltage, and say so where they disagree with it."""

import pytest

from intake.models import RequestLoad
from intake.questions.power import PLUGS
from intake.requests.voltage import PLUG_SYSTEMS, voltage_hint
from sizing.requirement import SUPPLIES


def row(plate: str, kind: str = "pump") -> RequestLoad:
    return RequestLoad(name="Pump", kind=kind, nameplate=plate, quantity=1)


@pytest.mark.parametrize(
    ("plate", "words"),
    [
        ("15 hp 460 V 3 ph", "480 volts"),
        ("10 hp 200 V 3 ph", "208 volts"),
        ("2 hp 230 V 1 ph", "120/240 volts"),
    ],
)
def test_a_plate_points_at_its_system(plate: str, words: str) -> None:
    assert voltage_hint([row(plate)], "", []).points_at.startswith(words)


def test_nothing_is_pointed_at_without_a_plate() -> None:
    assert voltage_hint([row("")], "unsure", []).points_at == ""


def test_a_plate_and_a_plug_that_disagree_are_named() -> None:
    hint = voltage_hint([row("15 hp 460 V 3 ph")], "120/240", ["L16-30", "14-50"])
    assert hint.doubts == (
        "The plate of Pump does not fit 120/240 V.",
        "A plug marked L16-30 does not belong to 120/240 V.",
    )


@pytest.mark.parametrize("chosen", ["", "unsure", "480Y/277", "120/240"])
def test_what_the_plates_point_at_stays_whatever_is_chosen(chosen: str) -> None:
    assert voltage_hint([row("15 hp 460 V 3 ph")], chosen, []).points_at.startswith("480 volts")


def test_what_agrees_is_not_doubted() -> None:
    assert voltage_hint([row("15 hp 460 V 3 ph")], "480Y/277", ["L16-30"]).doubts == ()


def test_every_plug_on_offer_belongs_to_some_system() -> None:
    assert set(PLUG_SYSTEMS) == {choice.value for choice in PLUGS.choices}
    assert all(systems and systems <= set(SUPPLIES) for systems in PLUG_SYSTEMS.values())
