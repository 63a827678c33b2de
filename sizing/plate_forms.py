"""Forms with an order of their own on plates: systems, volts-phase-hertz, codes, lamps; and what
is understood but has no bearing on the set, such as frame, enclosure or serial number."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from functools import cache
from typing import Any, NamedTuple

from sizing.plate_volts import groups

Fields = Mapping[str, Any]
_V = r"(\d{3}(?:\s*[-/]\s*\d{3})?(?:\s*/\s*\d{3})?)"
_VOLTS = r"\s*(?:v|vac|volts?)?\b"
_PH = r"\s*-?\s*(?:phases?|phs?|ø|φ|~)?\s*"
_HZ = r"\s*(?:hz|cy|~)?"
_TO = r"\s*[-/x]\s*"
_SYSTEM = (
    r"(208\s*y\s*/\s*120|480\s*y\s*/\s*277|600\s*y\s*/\s*347|415\s*y\s*/\s*240|400\s*y\s*/\s*230"
    r"|120\s*/\s*240|240\s*/\s*120|120\s*/\s*208(?:\s*y)?|277\s*/\s*480(?:\s*y)?|208\s*/\s*120|480\s*/\s*277)"
)
_TURNED = {
    "120/208": "208Y/120", "120/208Y": "208Y/120", "208/120": "208Y/120",
    "277/480": "480Y/277", "277/480Y": "480Y/277", "480/277": "480Y/277",
}  # fmt: skip
_LAMP_WORDS = {
    "metal halide": r"metal[\s-]*hal[io]de|\bm\.?h\b\.?",
    "high pressure sodium": r"high[\s-]*press(?:ure|\.)?[\s-]*sodium|\bh\.?p\.?s\b\.?",
    "mercury vapor": r"\bmercury(?:[\s-]*vapou?r)?\b|\bm\.?v\b",
    "led": r"\bl\.?e\.?d\.?s?\b",
    "fluorescent": r"\bflu?oures?cent|\bfluorescents?\b|\bcfls?\b|\bt[58]\b",
    "incandescent": r"\b(?:quartz|halogen|tungsten|incandescent)\b",
}
_NOTED = (
    r"\b(?:model|mod|ser(?:ial)?|s/n|sn|cat(?:alog)?|p/n|part|spec|style|type|id|item|order|mfg|date|dom)"
    r"\s*\.?\s*(?:no|num(?:ber)?)?\s*\.?\s*[:#=]?\s*[a-z]*[-\d/.a-z]*\d[-\d/.a-z]*",
    r"\b(?:frame|fr|frm)\s*\.?\s*[:=]?\s*\d{1,3}[a-z]{0,3}\b",
    r"\b(?:ins(?:ul(?:ation)?)?\.?\s*)?(?:th\.?\s*)?(?:class|cl)\s*\.?\s*[:=]?\s*[abfhn]\b(?:\s*ins\w*)?",
    r"\bins(?:ul(?:ation)?)?\b\.?\s*[:=]?\s*[abfhn]\b",
    r"\bencl(?:osure)?\b\.?\s*[:=]?\s*[a-z]{2,5}\b",
    r"\b(?:tefc|tenv|teao|tebc|odp|wpi{1,2}|xp|tikk)\b",
    r"\bip\s?\d{2}[a-z]?\b|\bic\s?\d{3}\b|\bim\s?b\d{1,2}\b",
    r"\b(?:max(?:imum|\.)?\s*)?amb(?:ient)?\b\.?(?:\s*temp\w*\.?)?\s*[:=]?\s*-?\d{2,3}\s*(?:°|deg\w*)?\s*[cf]?\b",
    r"\b-?\d{2,3}\s*(?:°|deg\w*)?\s*[cf]\.?\s*(?:max(?:imum|\.)?\s*)?amb(?:ient)?\b\.?|\b\d{2,3}\s*°\s*[cf]\b",
    r"\b(?:temp(?:erature)?\s*)?rise\s*[:=]?\s*\d{2,3}\s*°?\s*[cf]?\b|\b\d{2,3}\s*°?\s*[cf]\s*rise\b",
    r"\b(?:nema\s+)?premium(?:\s+eff)?\b|\bie\s?[1-5]\b|\binverter\s+duty\b",
    r"\bbearings?\b[^,]*|\bbrg\b[^,]*|\bgrease\b[^,]*|\b(?:thermally|impedance)\s+protected\b",
    r"\b(?:ul|csa|ce|etl|nema|iec|made\s+in\s+\w+|u\.?s\.?a)\b\.?",
    r"\b\d[\d,.]*\s*(?:lbs?|kg|kgs)\b|\b(?:weight|wt)\s*[:=]?\s*\d[\d,.]*\b",
    r"\b\d[\d,.]*\s*(?:gpm|gph|l/s|l/min|m3/h|cfm|scfm|psi|psig|bar|ft(?:\s*(?:hd|head|tdh))?|tdh)\b",
    r"\b\d[\d.]*\s*(?:in(?:ch)?\.?|\")\s*(?:disch\w*|discharge|pump)",
    r"\b[2345]\s*-?\s*(?:wires?)\b",
    r"\b(?:nema\s*)?(?:l?(?:5|6|10|14|15|16|21|22)|tt)\s?-\s?(?:15|20|30|50|60)\s?[rp]?\b(?!\s?/)",
    r"\b\d+\s*-?\s*(?:poles?|p)\b",
    r"\bspaces?\s*[:=]?\s*\d+\b|\b\d+\s*spaces?\b",
    r"\b\d{1,3}\s*(?:kaic|aic|ka)\b|\b\d{1,3},\d{3}\s*aic\b",
    r"\b(?:z|imp(?:edance)?)\s*[:=]?\s*\d+(?:\.\d+)?\s*%|\b\d+(?:\.\d+)?\s*%\s*(?:z|imp\w*)\b",
    r"\b\d+(?:\.\d+)?\s*vdc(?:\s*,?\s*\d+(?:\.\d+)?\s*(?:a|amps?)\b)?",
    r"\bi1?\s*eff\s*[:=]?\s*\d+(?:\.\d+)?\s*a\b|±\s*\d+(?:\.\d+)?\s*%",
    r"\b\d+(?:\.\d+)?\s*(?:lumens?|lm)\b|\b\d{4}\s*k\b",
    r"\b\d+(?:\.\d+)?\s*%\s*(?:duty(?:\s*cycle)?|x)\b|\bduty\s*cycle\s*[:=]?\s*\d+\s*%",
    r"\b(?:refrigerant\s*)?r-?\s?(?:22|32|134a|404a|407c|410a|454b)\b[^,]*?(?:\d+(?:\.\d+)?\s*(?:oz|lbs?))?",
    r"\bfloat\s*switch(?:es)?\b|\bδ\s*/\s*y\b|\by\s*/\s*δ\b|\bdelta\s*/\s*wye\b",
    r"\b(?:across[\s-]*the[\s-]*line|dol|d\.o\.l|soft[\s-]*start(?:er)?|vfd|star[\s/-]*delta|wye[\s/-]*delta"
    r"|part[\s-]*winding)(?:\s*start\w*)?\b",
)


class Form(NamedTuple):
    """A pattern and what its match says; several matches are taken one after another."""

    pattern: re.Pattern[str]
    read: Callable[[re.Match[str]], Fields]


def _lamp(lamp: str) -> Callable[[re.Match[str]], Fields]:
    return lambda m: {"lamp_type": lamp}


def system_name(written: str) -> str:
    """System in C84.1 notation from how it is written: ``120/208Y`` is ``208Y/120``."""
    name = re.sub(r"\s+", "", written).upper()
    return _TURNED.get(name, name)


def _letter(name: str) -> Callable[[re.Match[str]], Fields]:
    return lambda m: {name: m[1].upper()}


def _one_winding(volts: str, phases: str, hertz: str) -> Fields:
    return {"volts": groups(volts), "phases": int(phases), "hertz": float(hertz)}


def _transformer(match: re.Match[str]) -> Fields:
    return {"volts": groups(match[1]), "secondary": system_name(match[2])}


def _system_transformer(match: re.Match[str]) -> Fields:
    line = max(float(v) for v in re.findall(r"\d+", match[1]))
    return {"volts": groups(f"{line:g}"), "secondary": system_name(match[2])}


def _stamped_system(match: re.Match[str]) -> Fields:
    volts = re.sub(r"[y\s]", "", match[1])
    return {"system": system_name(match[1]), "volts": groups(volts)}


def _usable(match: re.Match[str]) -> Fields:
    found: dict[str, Any] = {"volts": groups(match[1])}
    if match[2]:
        found["amps"] = groups(match[2])
    return found


def _pieces(match: re.Match[str]) -> Fields:
    return {"pieces": int(match[1])}


def _lamps(match: re.Match[str]) -> Fields:
    return {"pieces": int(match[1]), "watts": float(match[2].replace(",", ""))}


_READ: tuple[tuple[str, Callable[[re.Match[str]], Fields]], ...] = (
    (  # transformer between two systems
        rf"(?<![\d/-]){_SYSTEM}{_VOLTS}(?:\s*pri\w*)?\s*(?:-|to|,|x)\s*(?:sec\w*\s*)?"
        rf"{_SYSTEM}{_VOLTS}(?:\s*sec\w*)?(?![\d/])",
        _system_transformer,
    ),
    (  # transformer: primary to a secondary system or voltage
        r"(?<![\d/])(\d{3})\s*(?:vac|volts?|v)?\s*(?:delta|wye|d|δ|y)?\s*(?:pri\w*)?\s*"
        r"(?:delta|wye|d|δ)?\s*(?:-|to|/|,|x|:)?\s*"
        rf"(?:sec\w*\s*)?{_SYSTEM}{_VOLTS}(?:\s*(?:y|wye|sec\w*))*(?![\d/])",
        _transformer,
    ),
    (rf"(?<![\d/-]){_SYSTEM}{_VOLTS}(?![\d/-])", _stamped_system),
    (
        rf"(?<![\d/.-]){_V}{_VOLTS}{_TO}([13]){_PH}{_TO}([56]0){_HZ}(?![\d/.])",
        lambda m: _one_winding(m[1], m[2], m[3]),
    ),
    (
        rf"(?<![\d/.-]){_V}{_VOLTS}{_TO}([56]0){_HZ}{_TO}([13]){_PH}(?![\d/.])",
        lambda m: _one_winding(m[1], m[3], m[2]),
    ),
    (
        rf"(?<![\d/.-])([13]){_PH}{_TO}([56]0){_HZ}{_TO}{_V}{_VOLTS}(?![\d/.])",
        lambda m: _one_winding(m[3], m[1], m[2]),
    ),
    (
        rf"(?<![\d/.-])([13]){_PH}{_TO}{_V}{_VOLTS}{_TO}([56]0){_HZ}(?![\d/.])",
        lambda m: _one_winding(m[2], m[1], m[3]),
    ),
    (
        rf"(?<![\d/.-]){_V}{_VOLTS}{_TO}([13])(?:\s*(?:phases?|phs?|ø|φ|~)|(?=\s|$))(?!\s*[\d/-])",
        lambda m: {"volts": groups(m[1]), "phases": int(m[2])},
    ),
    (
        r"\b(?:usable|suitable|useable|ok)\s+(?:at|on|for)\s+(\d{3})\s*(?:v|vac|volts?)?"
        r"(?:\s*(?:network|system)s?)?(?:\s*(?:at|@|,)?\s*(\d+(?:\.\d+)?)\s*(?:a|amps?)\b)?",
        _usable,
    ),
    (
        r"\bmca\s*/\s*mocp\s*[:=]?\s*(\d+(?:\.\d+)?)\s*/\s*(\d+(?:\.\d+)?)",
        lambda m: {"min_circuit_amps": float(m[1]), "max_overcurrent_amps": float(m[2])},
    ),
    (
        r"\bhp\s*(\d+(?:\.\d+)?)\s*kva\s*[:=/]?\s*([a-hj-npr-v])\b",
        lambda m: {"hp": float(m[1]), "code_letter": m[2].upper()},
    ),
    (
        r"\b(?:nema\s+)?(?:kva\s*[-/]?\s*)?code(?:\s+(?:letter|ltr))?\s*[:=.-]?\s*\"?([a-hj-npr-v])\b\"?",
        _letter("code_letter"),
    ),
    (r"(?<!\d)(?<!\d )\bkva\s*[:=/]?\s*([a-hj-npr-v])\b(?!\w)", _letter("code_letter")),
    (
        r"\b(?:nema\s+)?des(?:ign|gn|\.)?(?:\s+(?:letter|code))?\s*[:=.]?\s*([a-d])\b",
        _letter("design_letter"),
    ),
    (
        r"(?<![\d/.-])([13])\s*[/-]\s*([56]0)(?:\s*hz)?(?![\d/.-])",
        lambda m: {"phases": int(m[1]), "hertz": float(m[2])},
    ),
    (r"\b(?:single|one)[\s-]*(?:phases?|phs?)\b\.?", lambda m: {"phases": 1}),
    (r"\b(?:three|poly)[\s-]*(?:phases?|phs?)\b\.?", lambda m: {"phases": 3}),
    (
        r"\b([13])\s*-?\s*(?:phases?|phs?|ø|φ)\s*[,/]?\s*[2345]\s*-?\s*w(?:ires?)?\b",
        lambda m: {"phases": int(m[1])},
    ),
    (
        r"\b(?:time\s*(?:rating|rtg)?|duty|rating)\s*[:=.]?\s*(cont(?:inuous|\.)?|int(?:ermittent|\.)?|s[1-9]|\d+\s*min)"
        r"\b\.?(?:\s*duty)?",
        lambda m: {"duty": m[1].strip(". ")},
    ),
    (
        r"\b(cont(?:inuous|\.)?|int(?:ermittent|\.)?|s[1-9])\s*-?\s*(?:duty|rated)?\b\.?",
        lambda m: {"duty": m[1].strip(". ")},
    ),
    (
        r"\b\(?(\d{1,2})\)?\s*x\s*(\d[\d,]*(?:\.\d+)?)\s*-?\s*w\b(?:\s*(?:each|ea)\b\.?)?",
        _lamps,
    ),
    (r"\(\s*(\d{1,2})\s*\)\s*(\d[\d,]*(?:\.\d+)?)\s*-?\s*w\b(?:\s*(?:each|ea)\b\.?)?", _lamps),
    (r"\b(?:x|qty\b\.?)\s*[:=]?\s*(\d{1,2})\b(?![.\d]|\s*(?:w|v|a|hp|k))", _pieces),
    (
        r"\bie\s*[1-5]\s*[-,:(]?\s*(\d\d(?:[.,]\d+)?)\s*%\)?",
        lambda m: {"efficiency": float(m[1].replace(",", ".")) / 100},
    ),
    *((pattern, _lamp(lamp)) for lamp, pattern in _LAMP_WORDS.items()),
)
_OUTPUT = r"\b(?:output|out|load)\b\s*[:=]?\s*[^,¦]*?\d[^¦]*?(?=,|¦|\binput\b|\bin\b\s*[:=]|$)"


@cache
def read_forms() -> tuple[Form, ...]:
    """Forms that say something, in the order they are tried; compiled when first needed."""
    return tuple(Form(re.compile(pattern), read) for pattern, read in _READ)


@cache
def noted_forms() -> tuple[re.Pattern[str], ...]:
    """Forms that are understood and have no bearing on the set."""
    return tuple(re.compile(pattern) for pattern in _NOTED)


@cache
def output_clause() -> re.Pattern[str]:
    """What a charger or a drive gives out, where the plate states its input apart."""
    return re.compile(_OUTPUT)
