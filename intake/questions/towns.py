"""Towns by ZIP code, offline."""

from __future__ import annotations

from functools import lru_cache


@lru_cache(maxsize=4096)
def zip_record(five_digits: str) -> dict[str, str]:
    """Town, state, coordinates and time zone of a ZIP code; empty where it does not exist."""
    import zipcodes

    if len(five_digits) != 5 or not (five_digits.isascii() and five_digits.isdigit()):
        return {}
    found: list[dict[str, str]] = zipcodes.matching(five_digits)  # type: ignore[no-untyped-call]
    return dict(found[0]) if found else {}


def town(five_digits: str) -> str:
    """The town as people write it: ``Breckenridge, CO``; empty where there is none."""
    record = zip_record(five_digits)
    return f"{record['city']}, {record['state']}" if record else ""
