"""Figures as the desk writes them."""

from __future__ import annotations

import pytest

from intake.desk.difference import figure


@pytest.mark.parametrize(
    ("value", "written"),
    [
        (40.0, "40 kW"),
        (12.34, "12.3 kW"),
        (1234.5, "1,234 kW"),
        (None, "–"),
        ({}, "–"),
        ({"480Y/277": 1, "208Y/120": 0}, "480Y/277: 1 kW, 208Y/120: 0 kW"),
        ([20, 30.5], "20 kW, 30.5 kW"),
        (True, "yes"),
        ("standby_power", "standby power"),
    ],
)
def test_a_figure_is_written_for_people(value: object, written: str) -> None:
    assert figure(value, "kW") == written
