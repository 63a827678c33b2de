"""Edges of the supply chapter: where one way out gives way to the next, and what people read."""

from __future__ import annotations

import pytest

from sizing.finding import Finding
from sizing.plate import Nameplate
from sizing.plate_reading import read_nameplate
from sizing.requirement import Load, Requirement, read_requirement
from sizing.supply import SupplyPlan, likely_system, settle_supply

SITE = read_requirement(
    {"application": "other", "supply": "480Y/277", "loads": [{"nameplate": "1500 W 480 V"}]}
).site


def rows(*loads: tuple[str, str]) -> tuple[Load, ...]:
    return tuple(
        Load(f"Load {place}", kind, read_nameplate(text) if text else Nameplate())
        for place, (kind, text) in enumerate(loads)
    )


def plan(system: str | None, *loads: tuple[str, str]) -> SupplyPlan:
    return settle_supply(
        Requirement("other", system, SITE, rows(*loads), supply_unsure=system is None)
    )


def finding(found: SupplyPlan, code: str) -> Finding:
    (one,) = [f for f in found.findings if f.code == code]
    return one


def other(kva: float, volts: int, phases: int = 1) -> tuple[str, str]:
    return "other", f"{kva} kVA {volts} V {phases} ph"


@pytest.mark.parametrize(
    ("second", "main", "first"),
    [(3, 7.25, "transformer"), (3, 7.15, "two_sets")],
)
def test_up_to_thirty_percent_of_the_load_goes_by_transformer(
    second: float, main: float, first: str
) -> None:
    """With 3 % losses: 3.09 of 10.34 kVA are 29.9 %, of 10.24 kVA 30.2 %."""
    assert plan("480Y/277", other(main, 480), other(second, 120)).options[0] == first


@pytest.mark.parametrize(("kva", "first"), [(72.8, "transformer"), (73, "two_sets")])
def test_the_largest_usual_transformer_still_goes_first(kva: float, first: str) -> None:
    """With 3 % losses 72.8 kVA still take 75 kVA, 73 kVA the next size, 112.5 kVA."""
    found = plan("480Y/277", other(400, 480, 3), other(kva, 208, 3))
    assert found.options[0] == first


@pytest.mark.parametrize(("kva", "plugged"), [(1.92, True), (1.93, False)])
def test_a_plug_gives_what_sixteen_amperes_carry(kva: float, plugged: bool) -> None:
    """20 A at 120 V, 80 % of it: NEC 210.23(A)(1) for what runs for hours."""
    found = plan("480Y/277", other(20, 480), other(kva, 120))
    assert ("receptacles" in found.options) is plugged


@pytest.mark.parametrize(("middle", "severity"), [(1, "warning"), (1.01, "needs_person")])
def test_a_quarter_of_the_load_may_sit_beside_the_high_leg(middle: float, severity: str) -> None:
    doubt = finding(plan("240/120", other(3, 240), other(middle, 120)), "high_leg")
    assert doubt.severity == severity
    assert bool(doubt.question) is (severity == "needs_person")


def test_a_load_without_figures_takes_no_share_beside_the_high_leg() -> None:
    doubt = finding(plan("240/120", other(2, 240), other(1, 120), ("pump", "")), "high_leg")
    assert doubt.evidence == {"share_percent": 33.3, "limit_percent": 25}


@pytest.mark.parametrize(
    ("plates", "system"),
    [
        # 57.9 of 61.2 kVA against 55.1: a share counts before the number of rows
        (("50 hp 208-230/460 V", "5 hp 460 V", "1 hp 208 V", "1 hp 208 V"), "480Y/277"),
        # 99.1 and 98.6 % are alike: the number of rows decides
        (("200 hp 208-230/460 V", "2 hp 460 V", "1/2 hp 208 V", "1/2 hp 208 V"), "208Y/120"),
    ],
)
def test_shares_within_a_hundredth_are_alike(plates: tuple[str, ...], system: str) -> None:
    assert likely_system(rows(*(("motor", f"{plate} 3 ph") for plate in plates))) == system


def test_a_load_without_figures_weighs_nothing_for_the_likely_system() -> None:
    """Counted as 1 kVA each, they would make 50 and 49 % alike, and two rows beat one."""
    unsized = ("pump", ""), ("pump", ""), ("pump", "")
    sized = other(1, 480), other(0.49, 208, 3), other(0.49, 208, 3)
    assert likely_system(rows(*sized, *unsized)) == "480Y/277"


@pytest.mark.parametrize(
    ("high_kva", "low_kva", "system"),
    [((1, 1, 1), (2.4,), "480Y/277"), ((1.2, 1.2), (3,), "208Y/120")],
)
def test_what_a_system_does_not_carry_weighs_nothing_for_it(
    high_kva: tuple[float, ...], low_kva: tuple[float, ...], system: str
) -> None:
    high, low = [other(kva, 480) for kva in high_kva], [other(kva, 208, 3) for kva in low_kva]
    assert likely_system(rows(*high, *low)) == system


ASKED = [
    ("208Y/120", "motor", "15 hp 3 ph", "the plate gives no voltage.",
     "which voltage does the plate give?"),
    ("208Y/120", "motor", "15 hp 208 V 50 Hz 3 ph", "stamped 50 Hz; the sets run at 60 Hz.",
     "is there a 60 Hz machine to use instead?"),
    ("120/240", "motor", "15 hp 230 V 3 ph", "three-phase; 120/240 is single-phase.",
     "is it three-phase, and which supply is there for it?"),
    ("208Y/120", "motor", "15 hp 230 V 3 ph",
     "stamped 230 V; 208Y/120 gives 208 V, -9.6 % on 230 V "
     "(NEMA MG 1 12.44.1: +-10 % at the terminals).",
     "does the plate also allow 208Y/120, or is the supply another one?"),
    ("208Y/120", "motor", "15 hp 208-230/460 V 3 ph",
     "connected for 208-230 V, gets 208 V; check that its terminal box is connected so.", ""),
    ("208Y/120", "heater", "5 kW 240 V 1 ph",
     "stamped 240 V, gets 208 V; it gives 75 % of its heat.", ""),
]  # fmt: skip


@pytest.mark.parametrize(("system", "kind", "plate", "detail", "question"), ASKED)
def test_a_doubt_names_the_load_its_figures_and_what_to_ask(
    system: str, kind: str, plate: str, detail: str, question: str
) -> None:
    (doubt,) = plan(system, (kind, plate)).findings
    assert doubt.detail == f"Load 0: {detail}"
    assert doubt.question == (f"Load 0: {question}" if question else "")
    read = read_nameplate(plate)
    assert doubt.evidence == {
        "stamped_volts": read.volts, "stamped_system": "", "stamped_phases": read.phases,
        "stamped_hertz": read.hertz, "supply": system,
    }  # fmt: skip


def test_two_voltages_are_told_with_the_ways_out() -> None:
    found = plan("480Y/277", ("pump", "50 hp 460 V 3 ph"), other(1, 120), other(0.5, 120))
    doubt = finding(found, "two_voltages")
    assert doubt.detail == (
        "Load 1, Load 2: not for 480Y/277; a 2 kVA transformer to 120/240 (0.06 kW losses, "
        "10 kVA inrush). Ranked: a transformer, then 120 V receptacles that live apart from the "
        "selector, then a second set, then a person decides."
    )
    assert doubt.question == "Is 480Y/277 right for the site, and what shall feed Load 1, Load 2?"
    assert doubt.evidence == {"rows": (1, 2), "options": found.options}
    assert doubt.subject == "supply"
    none = finding(plan("208Y/120", ("pump", "50 hp 460 V 3 ph")), "two_voltages")
    assert "208Y/120; no one transformer serves them. Ranked: a second set" in none.detail


def test_the_high_leg_is_told_with_its_share() -> None:
    doubt = finding(plan("240/120", other(2, 240), other(1, 120)), "high_leg")
    assert doubt.detail == (
        "High-leg delta: 33 % of the load is at 120 V, the limit is 25 %; none of it may sit on "
        "the high leg, which has 208 V to neutral."
    )
    assert doubt.question == "Can the 120 V load be fed apart from the high-leg delta?"
    assert doubt.subject == "supply"


def test_an_unsure_supply_is_asked_for_with_what_the_plates_point_to() -> None:
    doubt = finding(plan(None, ("pump", "15 hp 460 V 3 ph")), "supply_unsure")
    asked = "The plates point to 480Y/277. Which voltage is there at the connection?"
    assert (doubt.subject, doubt.question) == ("supply", asked)
    assert doubt.detail == (
        "The supply voltage is not settled; a wrong voltage destroys equipment."
    )
    assert doubt.evidence["rows"] == 1
    bare = finding(plan(None, ("pump", "15 hp")), "supply_unsure")
    assert bare.question == "Which voltage do the plates of the equipment give?"
