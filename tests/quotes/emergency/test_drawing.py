"""The schematic map: directions kept, nothing on top of each other, nothing off the sheet."""

from __future__ import annotations

import math
from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from quotes.demo.ice_storm import storm_document
from quotes.emergency.event.drawing import HEIGHT, MARK, SMALL_MARK, WIDTH, drawing

DEGREES = st.tuples(st.floats(40, 41), st.floats(-101, -100))


def story() -> list[tuple[float, float]]:
    return [(site["latitude"], site["longitude"]) for site in storm_document()["sites"]]


@given(st.lists(DEGREES, max_size=30))
def test_every_mark_is_on_the_sheet(places: list[tuple[float, float]]) -> None:
    for spot in drawing(places).spots:
        assert 0 < spot.at[0] < WIDTH
        assert 0 < spot.at[1] < HEIGHT


def test_marks_of_the_story_do_not_touch() -> None:
    spots = drawing(story()).spots
    nearest = min(math.dist(a.at, b.at) for a, b in combinations(spots, 2))
    assert nearest >= 2.5 * MARK


def test_two_at_one_place_are_drawn_apart() -> None:
    first, second = drawing([(44.0, -75.0), (44.0, -75.0)]).spots
    assert first.true == second.true
    assert math.dist(first.at, second.at) >= 2 * MARK


def test_north_is_up_and_east_is_right() -> None:
    north, east, middle = drawing([(44.5, -75.0), (44.0, -74.5), (44.0, -75.0)]).spots
    assert north.true[1] < middle.true[1]
    assert east.true[0] > middle.true[0]


def test_the_bar_is_as_long_as_it_says() -> None:
    """One degree of latitude is 111.2 km (mean earth radius 6371 km, IUGG)."""
    drawn = drawing([(44.0, -75.0), (45.0, -75.0)])
    degree = abs(drawn.spots[0].true[1] - drawn.spots[1].true[1])
    assert math.isclose(drawn.bar / drawn.bar_km, degree / 111.2, rel_tol=0.01)


def test_many_places_get_small_marks() -> None:
    places = [(40 + n / 100, -100 + (n * 37 % 100) / 100) for n in range(200)]
    assert drawing(places).mark == SMALL_MARK
    assert drawing([]).spots == ()
