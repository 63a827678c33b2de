"""The fleet as the sizing method takes it: what is in service, where, as the records now stand."""

from __future__ import annotations

from collections import Counter

import pytest

from quotes.fleet.selectors import fleet_for_sizing
from quotes.models import Branch, SetType, Unit, UnitState

pytestmark = pytest.mark.usefixtures("company")


def counted(branch_code: str = "") -> dict[str, int]:
    return {one.code: one.quantity for one in fleet_for_sizing(branch_code)}


def in_service(**where: str) -> Counter[str]:
    units = Unit.objects.filter(state=UnitState.IN_SERVICE, **where)
    return Counter(units.values_list("set_type__code", flat=True))


def test_a_branch_has_its_own_units_and_all_are_those_of_every_branch() -> None:
    assert counted() == in_service()
    for code in Branch.objects.values_list("code", flat=True):
        assert counted(code) == in_service(branch__code=code)
    assert fleet_for_sizing("nowhere") == ()


def test_the_smallest_set_comes_first() -> None:
    kilowatts = [one.prime_kw for one in fleet_for_sizing()]
    assert kilowatts == sorted(kilowatts)


def test_what_changes_is_so_at_the_next_sizing() -> None:
    first = fleet_for_sizing()[0]
    unit = Unit.objects.filter(set_type__code=first.code, state=UnitState.IN_SERVICE)[0]
    unit.state = UnitState.WORKSHOP
    unit.save()
    assert counted() == in_service()
    kept = SetType.objects.get(code=first.code)
    kept.record = {**kept.record, "name": "Another name – ñ"}
    kept.save()
    assert {one.code: one.name for one in fleet_for_sizing()}.get(first.code, "") in (
        "Another name – ñ",
        "",  # its last unit is in the workshop
    )
    SetType.objects.filter(code=first.code).update(offered=False)
    assert first.code not in counted()
