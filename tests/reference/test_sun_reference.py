"""Sunrise and sunset against the US Naval Observatory and local tables, within two minutes."""

from __future__ import annotations

from datetime import date

import pytest

from sizing.sun import night

EAST, MIDDLE, ROCKIES, WEST = (
    "America/New_York", "America/Chicago", "America/Denver", "America/Los_Angeles",
)  # fmt: skip
# Latitude, longitude, zone, date, sunrise and sunset by the local clock; sources beside the rows,
# all read. The rows of Iowa give no year: any will do within a minute.
READ = [
    # US Naval Observatory lines on an astronomy teacher's page
    (38.9, -77.0, EAST, date(2002, 3, 20), "06:12", "18:21"),
    (38.9, -74.9, EAST, date(2002, 3, 20), "06:04", "18:12"),
    # local weather pages of a news site
    (38.9, -77.0, EAST, date(2025, 1, 13), "07:26", "17:08"),
    (38.9, -77.0, EAST, date(2025, 2, 12), "07:03", "17:43"),
    # a daily newspaper
    (38.9, -77.0, EAST, date(2018, 12, 9), "07:14", "16:45"),
    # a college's weather tables, place inferred
    (43.3, -91.79, MIDDLE, date(2027, 9, 1), "06:32", "19:41"),
    (43.3, -91.79, MIDDLE, date(2027, 9, 15), "06:47", "19:16"),
    (43.3, -91.79, MIDDLE, date(2027, 9, 30), "07:04", "18:49"),
]
# Computed with the astral package 3.2 itself: they pin the zone and the clock, not the sun.
COMPUTED = [
    (39.74, -104.99, ROCKIES, date(2025, 6, 21), "05:32", "20:31"),
    (39.74, -104.99, ROCKIES, date(2025, 12, 21), "07:18", "16:39"),
    (29.76, -95.37, MIDDLE, date(2025, 6, 21), "06:22", "20:25"),
    (29.76, -95.37, MIDDLE, date(2025, 12, 21), "07:13", "17:27"),
    (47.61, -122.33, WEST, date(2025, 6, 21), "05:12", "21:11"),
    (47.61, -122.33, WEST, date(2025, 12, 21), "07:55", "16:20"),
]


def hours(clock):
    hour, minute = clock.split(":")
    return int(hour) + int(minute) / 60


@pytest.mark.parametrize(
    ("latitude", "longitude", "zone", "day", "sunrise", "sunset"), [*READ, *COMPUTED]
)
def test_sunset_and_the_length_of_the_night(latitude, longitude, zone, day, sunrise, sunset):
    tonight = night(latitude, longitude, zone, day)
    assert tonight.sunset_h == pytest.approx(hours(sunset), abs=2.5 / 60)
    dark = (hours(sunrise) - hours(sunset)) % 24
    assert tonight.dark_h == pytest.approx(dark, abs=4.5 / 60)
