"""Labels and values put together by where they lie, however the plate parts them."""

from __future__ import annotations

import math

import pytest

from intake.photos.engine import Line
from intake.photos.layout import pieces
from intake.photos.suggestion import NOTHING, READ, suggestion_from

Placed = tuple[str, float, float]


def line(text: str, x: float, y: float, *, sure: float = 0.99, turned: float = 0.0) -> Line:
    """A line of text at a place, on a plate that is turned by so many degrees."""
    cos, sin = math.cos(math.radians(turned)), math.sin(math.radians(turned))
    corners = ((x, y), (x + 20 * len(text), y), (x + 20 * len(text), y + 40), (x, y + 40))
    return Line(text, sure, tuple((a * cos - b * sin, a * sin + b * cos) for a, b in corners))


def typed(placed: list[Placed], turned: float = 0.0) -> str:
    found = pieces([line(text, x, y, turned=turned) for text, x, y in placed])
    return " ".join(piece.words for piece in found)


BESIDE = [("HP", 0, 0), ("15", 200, 0), ("VOLTS", 400, 0), ("460", 600, 0),
          ("PH", 0, 80), ("3", 200, 80), ("AMPS", 400, 80), ("21", 600, 80)]  # fmt: skip
ABOVE = [("HP", 0, 0), ("VOLTS", 200, 0), ("PH", 400, 0), ("AMPS", 600, 0),
         ("15", 0, 60), ("460", 200, 60), ("3", 400, 60), ("21", 600, 60)]  # fmt: skip
UNDER = [("15", 0, 0), ("460", 200, 0), ("HP", 0, 60), ("VOLTS", 200, 60),
         ("3", 0, 220), ("21", 200, 220), ("PH", 0, 280), ("AMPS", 200, 280)]  # fmt: skip
UNITS = [("15", 0, 0), ("HP", 100, 0), ("460", 300, 0), ("VOLTS", 400, 0),
         ("3", 600, 0), ("PH", 700, 0), ("21", 900, 0), ("AMPS", 1000, 0)]  # fmt: skip


@pytest.mark.parametrize(
    "placed", [BESIDE, ABOVE, UNDER, UNITS], ids=["beside", "above", "under", "units"]
)
@pytest.mark.parametrize("turned", [0, 9, -14])
def test_every_way_of_parting_gives_the_same_words(placed: list[Placed], turned: float) -> None:
    assert typed(placed, turned) == "15 hp 460 V 3 ph 21 A"


def test_a_row_of_labels_read_as_one_is_parted_again() -> None:
    both = [Line(t, 0.99, ((0, y), (220, y), (220, y + 40), (0, y + 40))) for t, y in
            (("HP VOLTS PH", 0.0), ("15 460 3", 60.0))]  # fmt: skip
    assert [piece.words for piece in pieces(both)] == ["15 hp", "460 V", "3 ph"]


def test_a_value_that_swallowed_the_next_label_gives_it_back() -> None:
    assert typed([("V", 0, 0), ("230/460 PH", 100, 0), ("3", 400, 0)]) == "230/460 V 3 ph"


@pytest.mark.parametrize(("read", "meant"), [("46O", "460 V"), ("2l0", "210 V")])
def test_letters_for_digits_are_mended_and_trusted_less(read: str, meant: str) -> None:
    (piece,) = pieces([line("VOLTS", 0, 0), line(read, 200, 0)])
    assert (piece.words, piece.confidence) == (meant, pytest.approx(0.891))


def test_what_cannot_be_the_value_is_not_taken_for_it() -> None:
    assert typed([("PH", 0, 0), ("7", 200, 0)]) == "7"


def test_a_serial_number_is_never_a_voltage() -> None:
    found = suggestion_from([line("SER NO", 0, 0), line("460V", 300, 0), line("15 HP", 0, 80)])
    assert (found["state"], found["text"]) == (READ, "15 HP")


def test_a_field_is_as_sure_as_the_less_sure_of_label_and_value() -> None:
    found = suggestion_from([line("HP", 0, 0, sure=0.98), line("15", 200, 0, sure=0.71)])
    assert found["fields"] == {"hp": 0.71}


def test_two_places_that_contradict_halve_the_confidence() -> None:
    found = suggestion_from([line("15 HP", 0, 0, sure=0.9), line("HP: 18", 0, 80, sure=0.8)])
    assert found["fields"]["hp"] == 0.4


def test_a_secondary_voltage_alone_is_not_offered_as_the_supply() -> None:
    found = suggestion_from([line("KVA", 0, 0), line("45", 200, 0), line("SEC VOLTS", 0, 80),
                             line("208Y/120", 300, 80)])  # fmt: skip
    assert found["text"] == "45 kVA"


def test_every_raw_line_is_kept() -> None:
    found = suggestion_from([line("ARBOR PUMPS", 0, 0), line("15 HP", 0, 80)])
    assert [raw["text"] for raw in found["lines"]] == ["ARBOR PUMPS", "15 HP"]


def test_a_photo_without_a_plate_suggests_nothing() -> None:
    assert suggestion_from([])["state"] == NOTHING
    assert suggestion_from([line("KEEP OUT", 0, 0)])["state"] == NOTHING
