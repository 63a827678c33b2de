"""Reading the text of a plate: stamped forms first, then numbers with the words beside them.

Whatever no rule takes is listed in ``not_understood``; nothing is dropped.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

from sizing.errors import Problem, QuantityRefused
from sizing.plate import Nameplate, NameplateRefused
from sizing.plate_forms import noted_forms, output_clause, read_forms
from sizing.plate_pairs import Pair, Token, pairs, tokens
from sizing.plate_volts import Group, groups, one_to_one, ranges_of
from sizing.plate_words import CUT, has_negative, plain, without_punctuation
from sizing.quantity import read_number

LONGEST = 1000
GROUPED = ("volts", "amps", "service_factor_amps", "locked_rotor_amps", "rated_load_amps")
_FILLER = frozenset((
    "a", "and", "at", "with", "of", "the", "for", "each", "ea", "motor", "pump", "electric", "by",
    "in", "on", "is", "or", "to", "full", "load", "max", "min", "volt", "ac", "input", "primary",
    "panel", "panelboard", "breaker", "main", "service", "disconnect", "lug", "lugs", "only", "mlo",
    "size", "sized", "compressor", "comp", "fan", "unit", "units", "heater", "heat", "lamp",
    "lights", "light", "fixture", "fixtures", "ballast", "transformer", "xfmr", "ups", "charger",
    "battery", "welder", "trailer", "office", "submersible", "sump", "well", "conditioner", "air",
    "a/c", "hvac", "space", "plug", "receptacle", "tower", "rated", "rating", "rtg", "per", "qty",
    "data", "plate", "nameplate", "name", "nema", "x", ",", ".", "-", "+", "/", "&", "'", "~", "%",
    "¦", "(", ")", "[", "]", '"', "*", "#", ":", "=", "approx", "about",
))  # fmt: skip
_MOTOR_MARKS = (
    "code_letter", "design_letter", "rpm", "efficiency", "service_factor", "locked_rotor_amps",
    "service_factor_amps",
)  # fmt: skip
_FRACTION = re.compile(r"(?:\d+[\s-]+)?(\d)\s*/\s*(\d{1,2})$")


@dataclass(slots=True)
class Reading:
    """What has been read so far: fields, what was noted, what two places say differently."""

    fields: dict[str, Any] = field(default_factory=dict)
    noted: list[str] = field(default_factory=list)
    conflicting: list[str] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)

    def take(self, found: Mapping[str, Any], words: str) -> None:
        """Keep fields; windings add up, any other field that already says otherwise conflicts."""
        for name, value in found.items():
            before = self.fields.get(name)
            if name in GROUPED and before is not None:
                self.fields[name] = (*before, *(g for g in value if g not in before))
            elif name == "hertz" and before is not None and 60.0 in (before, value):
                self.fields[name] = 60.0  # a plate for 50 and 60 Hz is used at 60
                self.noted.extend([words.strip()] if before != value else [])
            elif before is not None and before != value:
                self.conflicting.append(words.strip())
            else:
                self.fields[name] = value


@lru_cache(maxsize=4096)
def plate_text(text: str) -> Nameplate:
    """Nameplate from free text.

    Parameters
    ----------
    text
        As stamped or typed, at most 1,000 characters.

    Returns
    -------
    Nameplate
        Fields that were understood; all the rest in ``noted`` and ``not_understood``.

    Raises
    ------
    NameplateRefused
        Text too long, a negative or unreadable number, phases other than one or three.
    """
    _refuse_unreadable(text)
    reading = Reading()
    left = _forms_taken(plain(text), reading)
    joined, alone = pairs(tokens(without_punctuation(left)))
    for pair in joined:
        _take_pair(pair, reading)
    if reading.problems:
        raise NameplateRefused(reading.problems)
    return Nameplate(
        text=text.strip(),
        noted=tuple(reading.noted),
        not_understood=(*reading.conflicting, *_not_understood(alone)),
        **_settled(reading.fields),
    )


def _refuse_unreadable(text: str) -> None:
    if len(text) > LONGEST:
        sentence = f"{len(text):,} characters; at most {LONGEST:,}: give the plate of one machine"
        raise NameplateRefused([Problem("", "too_long", sentence)])
    if has_negative(plain(text)):
        sentence = f"“{text.strip()}” has a negative number; write the value without the minus sign"
        raise NameplateRefused([Problem("", "negative", sentence)])


def _forms_taken(text: str, reading: Reading) -> str:
    """Text without its forms; each place taken out is cut, so that its neighbours stay apart."""
    if "input" in text or re.search(r"\bin\s*[:=]", text):
        text = output_clause().sub(lambda m: _noted(m, reading), text)
    for form in read_forms():
        while match := form.pattern.search(text):
            reading.take(form.read(match), match[0])
            text = text[: match.start()] + CUT + text[match.end() :]
    for pattern in noted_forms():
        text = pattern.sub(lambda m: _noted(m, reading), text)
    return text


def _noted(match: re.Match[str], reading: Reading) -> str:
    reading.noted.append(match[0].strip())
    return CUT


def _take_pair(pair: Pair, reading: Reading) -> None:
    words = f"{pair.value} {pair.word}"
    try:
        reading.take(_field(pair, words, reading), words)
    except QuantityRefused as refusal:
        sentence = f"“{words}”: {refusal.message}; write it like “15 hp” or “230/460 V”"
        reading.problems.append(Problem(pair.field, refusal.code, sentence))


def _field(pair: Pair, words: str, reading: Reading) -> Mapping[str, Any]:
    if pair.field in GROUPED:
        return {pair.field: groups(pair.value)}
    if pair.field == "watts" and (lamps := _lamps_by_count(pair.value)):
        return lamps
    numbers = _numbers(pair)
    if len(set(numbers)) > 1:
        reading.noted.append(words)
    convert = _CONVERTED.get(pair.field)
    return convert(max(numbers)) if convert else {pair.field: max(numbers)}


def _numbers(pair: Pair) -> list[float]:
    """Numbers of a pair: a fraction is one, "50/60" and "1725/1425" are two."""
    fraction = _FRACTION.match(pair.value)
    if fraction and int(fraction[1]) < int(fraction[2]) and pair.field in ("hp", "kw", "tons"):
        return [read_number(pair.value)]
    return [value for group in groups(pair.value) for value in group.values]


def _lamps_by_count(written: str) -> Mapping[str, Any] | None:
    """ "4-1000" before watts: four lamps of 1,000 W."""
    found = [group.values for group in groups(written)]
    if len(found) == 1 and len(found[0]) == 2 and found[0][0] <= 24 and found[0][1] >= 50:
        return {"pieces": int(found[0][0]), "watts": found[0][1]}
    return None


def _phases(number: float) -> Mapping[str, Any]:
    if number in (50, 60):  # "60~" is sixty cycles
        return {"hertz": number}
    if number not in (1, 3):
        raise QuantityRefused("not_a_choice", "the sets give one phase or three")
    return {"phases": int(number)}


def _share(name: str) -> Callable[[float], Mapping[str, Any]]:
    return lambda n: {name: n / 100 if n > 1.0 else n}


_CONVERTED: dict[str, Callable[[float], Mapping[str, Any]]] = {
    "kw": lambda n: {"kw": n},
    "va": lambda n: {"kva": n / 1000},
    "kilovolts": lambda n: {"volts": (Group((n * 1000,)),)},
    "phases": _phases,
    "efficiency": _share("efficiency"),
    "power_factor": _share("power_factor"),
    "btu": lambda n: {"cooling_btu_h": n},
    "tons": lambda n: {"cooling_btu_h": n * 12000},
}


def _settled(fields: Mapping[str, Any]) -> dict[str, Any]:
    """Fields of a `Nameplate`: kilowatts given their meaning, windings paired with amperes."""
    kept = {k: v for k, v in fields.items() if k not in (*GROUPED, "kw")}
    kept.update(_kilowatts(fields))
    volts = fields.get("volts", ())
    if (kept.get("system"), kept.get("phases")) == ("240/120", 1):
        kept["system"] = "120/240"  # written the other way round; the high leg has three phases
    kept["volts"], kept["amps"] = one_to_one(volts, _running_amps(fields))
    kept["volt_ranges"] = ranges_of(volts)
    for name in ("service_factor_amps", "locked_rotor_amps"):
        _, kept[name] = one_to_one(volts, fields.get(name, ()))
    kept["locked_rotor_amps_each"] = kept["locked_rotor_amps"]
    kept["locked_rotor_amps"] = max(kept["locked_rotor_amps"], default=None)
    return kept


def _kilowatts(fields: Mapping[str, Any]) -> Mapping[str, Any]:
    """Output of a motor where the plate is a motor's, else electrical input."""
    if "kw" not in fields:
        return {}
    if "hp" in fields or any(mark in fields for mark in _MOTOR_MARKS):
        return {"shaft_kw": fields["kw"]}
    return {} if "watts" in fields else {"watts": fields["kw"] * 1000}


def _running_amps(fields: Mapping[str, Any]) -> tuple[Group, ...]:
    """Running amperes; a compressor's rated-load amps and its fan's full-load amps add up."""
    amps, rated = fields.get("amps", ()), fields.get("rated_load_amps", ())
    if not rated:
        return tuple(amps)
    flat = [v for group in (*rated, *amps) for v in group.values]
    return (Group((round(sum(flat), 6),)),) if amps else tuple(rated)


def _not_understood(alone: Sequence[Token]) -> Iterable[str]:
    return (token.text for token in alone if token.text.rstrip(".") not in _FILLER)
