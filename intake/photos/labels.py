"""Labels that stand on plates apart from their values, and how a value of each looks.

Only to put together what a plate parts by its layout: what the words mean is `sizing`'s to say.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

_NUMBER = r"\d{1,4}(?:[.,]\d{1,3})?"
_NUMBERS = rf"{_NUMBER}(?:\s*[-/]\s*{_NUMBER}){{0,5}}"
_ANYTHING = r".+"


@dataclass(frozen=True, slots=True)
class Label:
    """What a label says: its spellings, the look of its value, how both are typed together."""

    key: str
    spelled: str
    value: str
    typed: str
    numeric: bool = True


LABELS = (
    Label("hp", r"(?:rated |output )?(?:h\.?p|horse ?power)",
          rf"(?:\d+[- ])?\d/\d{{1,2}}|{_NUMBER}", "{} hp"),
    Label("kw", r"(?:rated |output |motor )?k\.?w", _NUMBER, "{} kW"),
    Label("watts", r"(?:lamp |rated |input )?(?:watts?|wattage|w)", r"\d[\d,]*(?:\.\d+)?", "{} W"),
    Label("kva", r"(?:rated )?k\.?v\.?a", _NUMBER, "{} kVA"),
    Label("volts", r"(?:rated |input |line )?(?:volts?|voltage|v|vac|volts ac|voltage v)",
          r"\d{3}(?:\s*[-/]\s*\d{3}){0,4}(?:y/\d{3})?", "{} V"),
    Label("primary", r"pri(?:mary|\.)? ?(?:volts?|voltage|v)?", r"\d{3}", "{} V pri"),
    Label("secondary", r"sec(?:ondary|\.)? ?(?:volts?|voltage|v)?", r"\d{3}(?:\s*y?\s*/\s*\d{3})?",
          "sec {}"),
    Label("phases", r"(?:no\.? of )?(?:ph|phase|phases|phs|ø)", r"[13]", "{} ph"),
    Label("hertz", r"(?:freq(?:uency)?\.? ?)?(?:hz|hertz)|freq(?:uency)?|cyc(?:les?)?",
          r"[56]0(?:\s*/\s*[56]0)?", "{} Hz"),
    Label("amps", r"(?:rated |input |full load )?(?:amps?|amperes|current(?: a)?|a)|f\.? ?l\.? ?a|"
          r"f\.? ?l\.? amps?", _NUMBERS, "{} A"),
    Label("rla", r"r\.? ?l\.? ?a|rated load amps", _NUMBERS, "RLA {}"),
    Label("lra", r"l\.? ?r\.? ?a|locked rotor amps?", _NUMBERS, "LRA {}"),
    Label("sfa", r"s\.? ?f\.? ?a(?:mps?)?|service factor amps?|max amps?", _NUMBERS, "SFA {}"),
    Label("mca", r"m\.? ?c\.? ?a|min(?:imum|\.)? circuit (?:ampacity|amps?)", _NUMBER, "MCA {}"),
    Label("mocp", r"m\.? ?o\.? ?(?:c\.? ?)?p|max(?:imum|\.)? (?:fuse|breaker|ocp)(?: size)?",
          _NUMBER, "MOCP {}"),
    Label("code", r"(?:kva|nema|l\.? ?r\.?)?[- ]?code(?: letter)?", r"[a-hj-npr-v]", "code {}",
          numeric=False),
    Label("design", r"(?:nema )?(?:design|des)(?: letter)?", r"[a-d]", "design {}", numeric=False),
    Label("rpm", r"(?:rated )?(?:r\.?p\.?m|speed(?: rpm)?|r/min)", r"\d[,.]?\d{2,3}", "{} rpm"),
    Label("sf", r"s\.? ?f|serv(?:ice|\.)? ?factor", r"[01][.,]\d{1,2}", "SF {}"),
    Label("pf", r"p\.? ?f|power factor|cos ?[φϕ]?",
          r"[01]?[.,]\d{1,3}|\d{2}(?:[.,]\d)?\s*%?", "PF {}"),
    Label("eff", r"(?:f\.?l\.? |nema )?(?:nom(?:inal|\.)? )?eff(?:iciency)?(?: ?%)?",
          r"\d{2}(?:[.,]\d)?\s*%?|0?\.\d{2,3}", "eff {}"),
    Label("duty", r"duty|(?:time )?rating|time", r"cont(?:inuous|\.)?|int(?:ermittent|\.)?|s[1-9]",
          "duty {}", numeric=False),
    Label("ignored", r"(?:model|mod|mdl|serial|ser|cat(?:alog)?|part|spec|style|id|item|order|mfg|"
          r"batch|lot|job|shop)\.?(?: ?(?:no|number|num|date|code))?|s/n|p/n|m/n|frame|fr|type|"
          r"form|encl(?:osure)?|ins(?:ul(?:ation)?)?\.?(?: ?cl(?:ass)?)?|class|"
          r"(?:max\.? )?amb(?:ient)?(?: ?°?c)?|temp|date|year|bearings?|"
          r"(?:de|ode|nde) ?(?:brg|bearing)|"
          r"we?i?gh?t(?: ?lbs?)?|grease|wiring|ip|protection|gpm|flow|head|tdh|"
          r"impeller|refrigerant|charge",
          _ANYTHING, "", numeric=False),
)  # fmt: skip
_BARE = tuple(re.compile(rf"(?:{label.spelled})[.:#=]*", re.I) for label in LABELS)
_WITH_VALUE = tuple(
    re.compile(
        rf"(?:{label.spelled})(?:[.:#= ]+|(?<=[a-z.])(?=\d))(?P<value>{label.value})\W*", re.I
    )
    for label in LABELS
)
_VALUE = {
    label.key: re.compile(rf"({label.value})\s*([a-z~ø%°]{{0,5}})\.?", re.I) for label in LABELS
}
_UNITS = {
    "hp": {"hp"}, "kw": {"kw"}, "watts": {"w"}, "kva": {"kva"}, "volts": {"v", "vac"},
    "phases": {"ph", "ø", "~"}, "hertz": {"hz"}, "amps": {"a", "amps", "amp"}, "rpm": {"rpm"},
    "eff": {"%"}, "pf": {"%"}, "rla": {"a"}, "lra": {"a"}, "sfa": {"a"}, "mca": {"a"},
    "mocp": {"a"},
}  # fmt: skip
_LOOKALIKES = str.maketrans({"O": "0", "o": "0", "Q": "0", "I": "1", "l": "1", "|": "1"})


def bare_label(text: str) -> Label | None:
    """The label that a text is, with nothing beside it."""
    plain = " ".join(text.split())
    return next(
        (label for label, bare in zip(LABELS, _BARE, strict=True) if bare.fullmatch(plain)), None
    )


def label_with_value(text: str) -> tuple[Label, str] | None:
    """The label that a text begins with, and the value after it, where that is all it says."""
    plain = " ".join(text.split())
    for label, pattern in zip(LABELS, _WITH_VALUE, strict=True):
        if match := pattern.fullmatch(plain):
            return label, match["value"]
    return None


def value_for(label: Label, text: str) -> str | None:
    """The text as a value of this label, or ``None`` where it does not look like one.

    Letters that a reader takes for digits are put right where only a number can stand.
    """
    plain = " ".join(text.split()).strip(" :;.=")
    for candidate in (plain, plain.translate(_LOOKALIKES)) if label.numeric else (plain,):
        match = _VALUE[label.key].fullmatch(candidate)
        if match and (not match[2] or match[2].lower() in _UNITS.get(label.key, ())):
            return match[1].replace(" ", "") if label.numeric and "-" not in match[1] else match[1]
    return None


def labels_of(text: str) -> list[str]:
    """The labels that a text is made of, in order; empty unless it is nothing but labels."""
    words = text.split()
    found: list[str] = []
    while words:
        size = next(
            (n for n in range(min(4, len(words)), 0, -1) if bare_label(" ".join(words[:n]))), 0
        )
        if not size:
            return []
        found.append(" ".join(words[:size]))
        words = words[size:]
    return found
