"""Reading the text of a plate: stamped forms first, then numbers with the words beside them.

Whatever no rule takes is listed in ``not_understood``; nothing is dropped.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from sizing.errors import Problem, QuantityRefused
from sizing.plate import Nameplate, NameplateRefused
from sizing.plate_pairs import Pair, Token, pairs, tokens
from sizing.plate_volts import groups, paired
from sizing.quantity import read_number

Fields = dict[str, Any]
Form = tuple[re.Pattern[str], Callable[[re.Match[str]], Fields]]

_CUT = " ; "  # stands where a form was taken out, so that its neighbours are not paired
_VULGAR = str.maketrans({"½": " 1/2", "¼": " 1/4", "¾": " 3/4", "⅓": " 1/3", "⅔": " 2/3"})
_SIGNS = str.maketrans(
    {"–": "-", "—": "-", "−": "-", "‑": "-", "×": "x", "⁄": "/", "\\": "/", "≈": " ", "…": " "}
)
_V = r"(\d{2,3}(?:\s*[-/]\s*\d{2,3})?)"
_SYSTEM = r"(208y/120|480y/277|600y/347|120/240|240/120|120/208|277/480)"
_FILLER = frozenset(
    "and at with of the for each motor pump no electric type by in on is code load "
    "full rated max min volt x ; , . : | = ( ) [ ] # * - + / & ' \" @ approx about".split()
)


def _system(text: str) -> str:
    turned = {"120/208": "208Y/120", "277/480": "480Y/277"}
    return turned.get(text, text.upper())


def _volts_phases_hertz(volts: str, phases: str, hertz: str) -> Fields:
    flat = tuple(v for group in groups(volts) for v in group.values)
    ranges = tuple(
        (min(g.values), max(g.values)) for g in groups(volts) if len(g.values) > 1
    )
    return {"volts": flat, "volt_ranges": ranges, "phases": int(phases), "hertz": float(hertz)}


FORMS: tuple[Form, ...] = (
    (
        re.compile(
            rf"(?<![\d/])(\d{{3}})\s*(?:v|vac|volts?)?\s*(?:d|delta|Δ|pri\w*)?\s*"
            rf"(?:-|to|/|:|,)?\s*(?:v\s*)?{_SYSTEM}\s*(?:v|vac|volts?)?(?:\s*sec\w*)?(?![\d/])",
            re.I,
        ),
        lambda m: {"volts": (float(m[1]),), "secondary": _system(m[2].lower())},
    ),
    (
        re.compile(rf"(?<![\d/-]){_V}\s*v?\s*[-/]\s*([13])\s*(?:ph\w*|ø)?\s*[-/]\s*([56]0)\s*(?:hz)?(?![\d/])"),
        lambda m: _volts_phases_hertz(m[1], m[2], m[3]),
    ),
    (
        re.compile(rf"(?<![\d/-]){_V}\s*v?\s*[-/]\s*([56]0)\s*(?:hz)?\s*[-/]\s*([13])(?:\s*ph\w*|ø)?(?![\d/])"),
        lambda m: _volts_phases_hertz(m[1], m[3], m[2]),
    ),
    (
        re.compile(r"(?<![\d/-])([13])\s*[-/]\s*([56]0)\s*[-/]\s*(\d{3}(?:\s*/\s*\d{3})?)(?![\d/])"),
        lambda m: _volts_phases_hertz(m[3], m[1], m[2]),
    ),
    (
        re.compile(rf"(?<![\d/]){_SYSTEM}\s*(?:v|vac|volts?)?(?![\d/])"),
        lambda m: {"system": _system(m[1])},
    ),
    (
        re.compile(r"\b(?:nema\s+)?(?:kva\s*[-/]?\s*)?code(?:\s+letter|\s+ltr)?\s*[:=.]?\s*([a-z])\b"),
        lambda m: {"code_letter": m[1].upper()},
    ),
    (
        re.compile(r"\b(?:nema\s+)?des(?:ign|\.|gn)?(?:\s+letter)?\s*[:=.]?\s*([a-d])\b"),
        lambda m: {"design_letter": m[1].upper()},
    ),
    (re.compile(r"\b(?:single|1|one)[\s-]*(?:phase|ph|ø|φ)\b"), lambda m: {"phases": 1}),
    (re.compile(r"\b(?:three|3|poly)[\s-]*(?:phase|ph|ø|φ)\b"), lambda m: {"phases": 3}),
    (
        re.compile(r"\b(?:time\s+rating|duty)\s*[:=]?\s*(cont\w*|int\w*|s[1-9])\b\.?|\b(cont\w*|int\w*)\.?\s+duty\b"),
        lambda m: {"duty": m[1] or m[2]},
    ),
    (re.compile(r"\bmetal[\s-]*halide\b|\bm\.?h\.?\b"), lambda m: {"lamp_type": "metal halide"}),
    (
        re.compile(r"\bhigh[\s-]*pressure[\s-]*sodium\b|\bhps\b"),
        lambda m: {"lamp_type": "high pressure sodium"},
    ),
    (re.compile(r"\bleds?\b"), lambda m: {"lamp_type": "led"}),
    (
        re.compile(r"\b(?:quartz|halogen|tungsten|incandescent)\b"),
        lambda m: {"lamp_type": "incandescent"},
    ),
    (re.compile(r"\bfluorescent\b"), lambda m: {"lamp_type": "fluorescent"}),
)
PHRASES = {
    "service factor amps": "sfa", "service factor": "sf", "serv fact": "sf",
    "power factor": "pf", "cos φ": "cos", "cosφ": "cos", "cos phi": "cos",
    "locked rotor amps": "lra", "full load amps": "fla", "rated load amps": "rla",
    "min circuit ampacity": "mca", "minimum circuit ampacity": "mca", "min ckt amps": "mca",
    "max fuse": "mocp", "max breaker": "mocp", "max overcurrent": "mocp",
    "nom eff": "eff", "nema nom eff": "eff", "horse power": "hp",
}  # fmt: skip


def plate_text(text: str) -> Nameplate:
    """Nameplate from free text.

    Raises
    ------
    NameplateRefused
        A number is negative or unreadable, or nothing at all was understood.
    """
    left, fields = _forms(_plain(text))
    joined, alone = pairs(tokens(left))
    problems: list[Problem] = []
    fields = _merge(_paired_fields(joined, problems), fields)
    alone_words = _not_understood(alone)
    if problems:
        raise NameplateRefused(problems)
    return Nameplate(text=text, not_understood=alone_words, **fields)


def _plain(text: str) -> str:
    plain = unicodedata.normalize("NFKC", text.translate(_VULGAR).translate(_SIGNS))
    plain = " ".join(plain.translate(_SIGNS).lower().split())
    for phrase, word in PHRASES.items():
        plain = plain.replace(phrase, word)
    return re.sub(r"(?<=[a-zφ])\s*[:=]\s*(?=[\d.])", " ", plain)


def _forms(text: str) -> tuple[str, Fields]:
    fields: Fields = {}
    for pattern, read in FORMS:
        while match := pattern.search(text):
            fields = _merge(read(match), fields)
            text = text[: match.start()] + _CUT + text[match.end() :]
    return text, fields


def _merge(new: Mapping[str, Any], before: Fields) -> Fields:
    return {**new, **before}


def _paired_fields(joined: Sequence[Pair], problems: list[Problem]) -> Fields:
    fields: Fields = {}
    written: dict[str, list[str]] = {}
    for pair in joined:
        written.setdefault(pair.field, []).append(pair.value)
    for field, values in written.items():
        try:
            fields.update(_field(field, values))
        except QuantityRefused as refusal:
            problems.append(Problem(field, refusal.code, refusal.message))
    return _volts_and_amps(fields)


def _field(field: str, values: list[str]) -> Fields:
    if field in ("volts", "amps", "service_factor_amps"):
        return {field: groups(values[0])}
    number = read_number(values[0])
    return _CONVERTED.get(field, lambda n: {field: n})(number)


_CONVERTED: dict[str, Callable[[float], Fields]] = {
    "kw": lambda n: {"watts": n * 1000},
    "w": lambda n: {"watts": n},
    "va": lambda n: {"kva": n / 1000},
    "kilovolts": lambda n: {"volts": groups(f"{n * 1000:.0f}")},
    "phases": lambda n: {"phases": int(n)},
    "efficiency": lambda n: {"efficiency": n / 100 if n > 1 else n},
    "power_factor": lambda n: {"power_factor": n / 100 if n > 1 else n},
    "btu": lambda n: {"cooling_btu_h": n},
    "tons": lambda n: {"cooling_btu_h": n * 12000},
    "poles": lambda n: {},
}


def _volts_and_amps(fields: Fields) -> Fields:
    volts, amps = fields.pop("volts", ()), fields.pop("amps", ())
    sfa = fields.pop("service_factor_amps", ())
    flat_volts, flat_amps = paired(volts, amps)
    ranges = tuple((min(g.values), max(g.values)) for g in volts if len(g.values) > 1)
    found: Fields = {"volts": flat_volts, "volt_ranges": ranges, "amps": flat_amps}
    found["service_factor_amps"] = tuple(a for g in sfa for a in g.values)
    return {**fields, **{k: v for k, v in found.items() if v}}


def _not_understood(alone: Sequence[Token]) -> tuple[str, ...]:
    return tuple(t.text for t in alone if t.text not in _FILLER)
