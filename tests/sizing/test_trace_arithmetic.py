"""Every line of the worked sheet that states an equation is worked again, as a rep would by hand.

The figures shown are rounded, so the repeat agrees within what rounding explains.
"""

from __future__ import annotations

import itertools
import math
import re
from typing import Any

import pytest

from demo_fixtures import fleet_path, story, story_names
from sizing import read_fleet, read_requirement, recommend
from tests.sizing.composition_cast import HEATER, PUMP, a_document

FLEET = read_fleet(fleet_path())
UNIT = re.compile(
    r"(?<=[\d)])\s*(?:kVA/hp|ohm/kft|L/h|gal/day|L/day|kft|kWh|kW|kVA|hp|degC|dBA|ft|Hz|pieces|"
    r"lamps?|gal|pu|h|L|V|A|W|m|s|%)(?![\w/])"
)
PLAIN = re.compile(r"[\d.+\-*/() ]+|sqrt\(|log10\(")
RESULT = re.compile(r"^\s*(-?[\d.,]+)\s*(%?)")
FUNCTIONS: dict[str, Any] = {"__builtins__": {}, "sqrt": math.sqrt, "log10": math.log10}


def equations(line: str) -> list[tuple[str, float, bool]]:
    """(expression in Python, stated result, stated in percent) for each equation of a line."""
    found = []
    for clause in re.split(r"[;:]\s", line):
        sides = clause.split(" = ")
        for left, right in itertools.pairwise(sides):
            expression, stated = plain(left), RESULT.match(right)
            if expression is not None and stated is not None:
                value = float(stated[1].rstrip(",").replace(",", ""))
                found.append((expression, value, stated[2] == "%"))
    return found


def plain(side: str) -> str | None:
    """A side without units as a Python expression; ``None`` where words are left."""
    bare = UNIT.sub("", side).replace(" x ", " * ").replace("^", "**")
    bare = re.sub(r"(?<=\d),(?=\d{3})", "", bare)
    bare = re.sub(r"(\d) log10", r"\1 * log10", bare)
    if PLAIN.sub("", bare) or not re.search(r"[*/+\-]|sqrt|log10", bare.strip().lstrip("-")):
        return None
    return bare


def agree(expression: str, stated: float, percent: bool) -> bool:
    """Whether the repeat gives the stated figure within rounding: 1.5 % or 0.1."""
    value = eval(expression, FUNCTIONS)
    values = (value, 100 * value) if percent else (value,)
    return any(math.isclose(one, stated, rel_tol=0.015, abs_tol=0.1) for one in values)


def checked(document: dict[str, Any]) -> int:
    """Equations that were worked again."""
    done = [
        (line.line, one)
        for line in recommend(read_requirement(document), FLEET).trace
        for one in equations(line.line)
    ]
    wrong = [(line, one) for line, one in done if not agree(*one)]
    assert not wrong, wrong
    return len(done)


@pytest.mark.parametrize("name", story_names())
def test_the_sheet_of_a_story_can_be_redone_by_hand(name: str) -> None:
    assert checked(story(name)) >= 8


@pytest.mark.parametrize(
    "loads",
    [
        [PUMP, HEATER],
        [{**PUMP, "starting": "autotransformer_65"}],
        [{**PUMP, "nameplate": "40 hp 460 V 3 ph 60 Hz FLA 52 LRA 290"}],
        [{**PUMP, "nameplate": "7.5 kW 460 V 3 ph 60 Hz", "starting": "wye_delta"}],
        [{"name": "AC", "kind": "hvac", "nameplate": "MCA 32 MOCP 45 460-3-60"}],
        [{"name": "Lamp", "kind": "lamp", "nameplate": "1000 W metal halide 480 V 1 ph"}],
        [{"name": "UPS", "kind": "ups", "nameplate": "20 kVA 480 V 3 ph"}],
        [{"name": "Panel", "kind": "panel", "nameplate": "60 A 480Y/277 V 3 ph panel"}],
    ],
    ids=lambda loads: loads[0]["nameplate"],
)
def test_the_sheet_of_each_kind_of_load_can_be_redone_by_hand(loads: list[dict[str, Any]]) -> None:
    assert checked(a_document(*loads)) >= 5


def test_a_wrong_line_would_be_found() -> None:
    (one,) = equations("P = 15 hp x 0.7457 / 0.91 = 12.29 kW")
    assert agree(*one)
    (wrong,) = equations("P = 15 hp x 0.7457 / 0.91 = 13.29 kW")
    assert not agree(*wrong)
    assert equations("the engine governs: site rating 50.8 kW, 67.8 kVA") == []
