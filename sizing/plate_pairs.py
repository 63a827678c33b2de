"""Numbers and the words beside them: which word names which number on a plate.

Plates write both ways: "15 HP 460 V" and "HP 15 V 460". Neighbours are paired so that the fewest
stay alone; between equals, each word is taken on the side where it usually stands.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import NamedTuple

_NUMBER = r"(?:\d+[\s-]+\d/\d{1,2}(?![\d/.])|\d[\d,]*(?:\.\d+)?|\.\d+)"
_JOINT = r"\s*(?:/|-|\bor\b|\bto\b)\s*"
VALUE = re.compile(rf"{_NUMBER}(?:{_JOINT}{_NUMBER})*")
_WORD = re.compile(r"[^\W\d]+(?:[./&][^\W\d]+)*\.?|~|%|\S")
_ALONE_VALUE, _ALONE_LABEL, _ALONE_UNIT, _UNUSUAL_SIDE = 10.0, 6.0, 4.0, 1.0
_TOUCHING_BONUS = -2.0

AFTER = {
    "hp": "hp", "horsepower": "hp", "kw": "kw", "kilowatt": "kw", "kilowatts": "kw",
    "w": "watts", "kva": "kva", "va": "va", "kv": "kilovolts",
    "v": "volts", "volt": "volts", "volts": "volts", "vac": "volts", "vlt": "volts",
    "voltage": "volts", "volt.": "volts",
    "a": "amps", "amp": "amps", "amps": "amps", "ampere": "amps", "amperes": "amps",
    "ph": "phases", "phase": "phases", "phases": "phases", "~": "phases", "ø": "phases",
    "φ": "phases", "phs": "phases", "phase(s)": "phases",
    "hz": "hertz", "hertz": "hertz", "cy": "hertz", "cyc": "hertz", "cycle": "hertz",
    "cycles": "hertz", "cps": "hertz", "freq": "hertz", "frequency": "hertz",
    "rpm": "rpm", "speed": "rpm", "btu": "btu", "btuh": "btu", "btu/h": "btu", "btu/hr": "btu",
    "btus": "btu", "ton": "tons", "tons": "tons",
}  # fmt: skip
BEFORE = {
    "fla": "amps", "rla": "rated_load_amps", "sfa": "service_factor_amps",
    "lra": "locked_rotor_amps", "mca": "min_circuit_amps", "mocp": "max_overcurrent_amps",
    "mop": "max_overcurrent_amps", "mfs": "max_overcurrent_amps", "sf": "service_factor",
    "eff": "efficiency", "efficiency": "efficiency", "η": "efficiency", "pf": "power_factor",
    "cos": "power_factor",
}  # fmt: skip
FIELD = {**AFTER, **BEFORE}


class Token(NamedTuple):
    """A number group or a word, where it stands; ``field`` is empty for a word of no meaning."""

    text: str
    start: int
    end: int
    field: str = ""
    is_value: bool = False


class Pair(NamedTuple):
    """A number group with the field that its word names."""

    field: str
    value: str
    word: str


def tokens(text: str) -> tuple[Token, ...]:
    """Number groups and words of a lower-case text, in order."""
    found: list[Token] = []
    place = 0
    while place < len(text):
        if text[place].isspace():
            place += 1
        else:
            match = VALUE.match(text, place) or _WORD.match(text, place)
            assert match
            found.append(_token(match[0], place, match.re is VALUE))
            place = match.end()
    return tuple(found)


def _token(text: str, start: int, is_value: bool) -> Token:
    field = "" if is_value else FIELD.get(text.rstrip("."), "")
    return Token(text, start, start + len(text), field, is_value)


def pairs(found: Sequence[Token]) -> tuple[tuple[Pair, ...], tuple[Token, ...]]:
    """Best pairing of neighbours, and the tokens that stay alone."""
    costs = [0.0]
    taken = [0]
    for place, token in enumerate(found):
        alone = costs[place] + _alone_cost(token)
        both = _pair_cost(found[place - 1], token) if place else None
        joined = costs[place - 1] + both if both is not None else alone
        costs.append(min(alone, joined))
        taken.append(2 if both is not None and joined < alone else 1)
    return _walk_back(found, taken)


def _walk_back(
    found: Sequence[Token], taken: list[int]
) -> tuple[tuple[Pair, ...], tuple[Token, ...]]:
    joined: list[Pair] = []
    alone: list[Token] = []
    place = len(found)
    while place:
        if taken[place] == 2:
            joined.append(_pair(found[place - 2], found[place - 1]))
        else:
            alone.append(found[place - 1])
        place -= taken[place]
    return tuple(reversed(joined)), tuple(reversed(alone))


def _alone_cost(token: Token) -> float:
    if token.is_value:
        return _ALONE_VALUE
    return _ALONE_LABEL if token.field and token.text.rstrip(".") in BEFORE else _ALONE_UNIT


def _pair_cost(left: Token, right: Token) -> float | None:
    """Cost of reading two neighbours together; ``None`` where they do not go together."""
    value, word = (left, right) if left.is_value else (right, left)
    if not value.is_value or word.is_value or not word.field:
        return None
    usual = AFTER if left.is_value else BEFORE
    cost = 0.0 if word.text.rstrip(".") in usual else _UNUSUAL_SIDE
    return cost + (_TOUCHING_BONUS if left.end == right.start else 0.0)


def _pair(left: Token, right: Token) -> Pair:
    value, word = (left, right) if left.is_value else (right, left)
    return Pair(word.field, value.text, word.text)
