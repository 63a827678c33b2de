"""Addresses that are filled in are those that Django gives."""

from __future__ import annotations

import pytest
from django.urls import NoReverseMatch, reverse, set_script_prefix

from intake.addresses import address

CASES = [
    ("desk:queue", ()),
    ("desk:case", ("2M6C-PR3C",)),
    ("desk:answer", ("2M6C-PR3C", "load-12-nameplate")),
    ("desk:settle", ("2M6C-PR3C", 7)),
    ("desk:case", ("a b ñ?",)),
    ("desk:case", ("7310000002",)),
]


@pytest.mark.parametrize(("route", "parts"), CASES)
def test_the_same_as_reverse(route: str, parts: tuple[object, ...]) -> None:
    for _ in range(2):
        assert address(route, *parts) == reverse(route, args=parts)


@pytest.mark.parametrize("reference", ["2M6C-PR3C", "a b ñ?"])
def test_a_last_part_that_the_route_knows(reference: str) -> None:
    for key in ("site", "dates", "site"):
        assert address("intake:step", reference, named=key) == reverse(
            "intake:step", args=[reference, key]
        )
    with pytest.raises(NoReverseMatch):
        address("intake:step", reference, named="nowhere")


def test_below_another_address() -> None:
    set_script_prefix("/hire/")
    try:
        assert address("desk:case", "2M6C-PR3C").startswith("/hire/desk/")
    finally:
        set_script_prefix("/")


def test_what_is_not_there_is_an_error() -> None:
    with pytest.raises(NoReverseMatch):
        address("desk:nowhere", "2M6C-PR3C")
