"""Words as plates write them, brought to one spelling before anything is read."""

from __future__ import annotations

import re
import unicodedata
from functools import cache

CUT = " ¦ "  # stands where a form was taken out, so that its neighbours are not paired
_FRACTIONS = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅓": "1/3", "⅔": "2/3", "⅛": "1/8", "⅙": "1/6"}
_SIGNS = str.maketrans(
    {
        "–": "-", "—": "-", "−": "-", "‑": "-", "‒": "-", "⁄": "/", "∕": "/", "\\": "/", "×": "x",
        "Φ": "φ", "ϕ": "φ", "Ø": "ø", "⌀": "ø", "∅": "ø", "Δ": "δ", "∆": "δ", "▵": "δ", "△": "δ",
        "’": "'", "″": '"', "”": '"', "“": '"', "∼": "~", "～": "~", "@": " @ ", "¦": " ", "•": " ",
        "·": " ", "…": " ",
    }
)  # fmt: skip
_COMMON_VOLTS = r"(?:11[05]|120|20[08]|2[234]0|277|3[48]0|400|415|4[468]0|575|600|690)"
_NUMBER = r"\d+(?:\.\d+)?"
_AMPS = r"[\s-]*(?:amp(?:ere)?s?|current|a)\b\.?"
_MAX_PROTECTION = (
    r"max(?:imum|\.)?\s*(?:over\s*current\s*(?:prot(?:ection|ective|\.)?)?\s*(?:device|dev\.?)?"
    r"|ocp?d?|fuse|(?:circuit\s+)?(?:breaker|brkr|bkr)|ckt\.?\s*(?:bkr|brkr)\.?"
    r"|fuse\s*(?:or|/)\s*\w+\s*(?:breaker)?)(?:\s*size)?(?:\s*\([^)]*\))?\.?"
)
PHRASES = (
    (rf"full[\s-]*load{_AMPS}|\bf\.?\s?l\.?\s?[ac]\b\.?", "fla"),
    (rf"(?:rated|running)[\s-]*load{_AMPS}|\br\.?\s?l\.?\s?a\b\.?", "rla"),
    (rf"lock(?:ed|\.)?[\s-]*rotor{_AMPS}|\bl\.?\s?r\.?\s?[ac]\b\.?", "lra"),
    (
        rf"service[\s-]*factor{_AMPS}|\bs\.?\s?f\.?\s?a\b\.?|\bmax(?:imum)?\s+amps\b",
        "sfa",
    ),
    (r"serv(?:ice|\.)?[\s-]*fact(?:or|\.)?|\bs\.\s?f\b\.?", "sf"),
    (r"power[\s-]*factor|\bp\.\s?f\b\.?|cos\s*\.?\s*(?:φ|phi|fi)|\bcosphi", "pf"),
    (r"(?:nema\s+)?(?:f\.?\s?l\.?\s+)?nom(?:inal|\.)?\s*eff(?:iciency|\.)?", "eff"),
    (r"\beff(?:iciency|\.)", "eff"),
    (
        r"min(?:imum|\.)?\s*(?:circuit|ckt|cir|cct)\.?\s*(?:ampacity|amps?|amp\.?|current)\.?"
        r"|\bm\.\s?c\.\s?a\b\.?",
        "mca",
    ),
    (_MAX_PROTECTION, "mocp"),
    (r"\bm\.\s?o\.\s?(?:c\.\s?)?p\b\.?", "mocp"),
    (r"horse[\s-]*power|\bh\.\s?p\b\.?|\bb\.?hp\b", "hp"),
    (r"\bk\.\s?v\.\s?a\b\.?", "kva"),
    (r"\bk\.\s?w\b\.?", "kw"),
    (r"r\.\s?p\.\s?m\b\.?|\br/min\b|\bmin\s*[-^]\s*1\b", "rpm"),
    (r"(?<=\d)\s*/\s?min\b|\brev/min\b|\btr/min\b", "rpm"),
    (r"\bv\.?\s?a\.?\s?c\b\.?|\bvolts?\s*a\.?c\b\.?", "vac"),
    (r"\bv\.?\s?d\.?\s?c\b\.?|\bvolts?\s*d\.?c\b\.?", "vdc"),
    (r"\bw/(?=\s|[a-z])", "with "),
    (r"\bwat+s?\b", "w"),
    (r"\bkilo\s*watts?\b", "kw"),
    (r"\bhert?z?\b", "hz"),
    (r"\bi1?\s*max\b", "fla"),  # symbols of IEC plates
    (r"\b(?:p[2n]?|u[1n]?|i[1n]?)\s*[:=]?\s+(?=\d)", " "),
)
_TWO_VOLTS = re.compile(
    rf"\b({_COMMON_VOLTS})\s*(?:v|vac)?\s*(?:,|&|\band\b|\+)\s*({_COMMON_VOLTS})(?=\s*v)"
)
_AMPS_AT = re.compile(
    rf"\b(fla|rla|lra|amps?|a)\s*@\s*({_NUMBER})\s*(?:v|vac|volts?)\s*[:=]?\s*({_NUMBER})"
    r"(?!\s*(?:v|ph|hz|hp))"
)
_WYE_DELTA = re.compile(r"(?<=\d)\s*v?\s*δ(?=\W|$)|(?<=\d)\s*v\s*[yd]\b")
_BARE_WINDINGS = re.compile(  # two common voltages parted by a slash are volts, unit or not
    rf"(\bv(?:ac|olts?|oltage)?\s*[:=]?\s*)?(?<![\d/.-])"
    rf"({_COMMON_VOLTS}(?:\s*-\s*{_COMMON_VOLTS})?(?:\s*/\s*{_COMMON_VOLTS})+)"
    rf"(?![\d/.\-]|\s*(?:-|/|y\b|v|to\b|a\b|amps?|w\b|hp|k|sec))"
)
_LOOSE_COMMA = re.compile(r",(?!\d)|(?<!\d),")
_NEGATIVE = re.compile(r"(?:^|[,;:=(])\s*-\s*\.?\d")


@cache
def _phrases() -> tuple[tuple[re.Pattern[str], str], ...]:
    return tuple((re.compile(pattern), f" {word} ") for pattern, word in PHRASES)


def plain(text: str) -> str:
    """Text in lower case, one spelling for each label, loose punctuation gone."""
    for sign, words in _FRACTIONS.items():
        text = text.replace(sign, f" {words}")
    text = unicodedata.normalize("NFKC", text.translate(_SIGNS)).translate(_SIGNS).lower()
    text = _LOOSE_COMMA.sub(" , ", re.sub(r"[\s|;]*[\n;|]+\s*", " , ", text))
    for pattern, word in _phrases():
        text = pattern.sub(word, text)
    text = _TWO_VOLTS.sub(r"\1/\2", " ".join(text.split()))
    text = _AMPS_AT.sub(r"\2 v \1 \3", text)
    text = _WYE_DELTA.sub("v", text)
    text = _BARE_WINDINGS.sub(lambda m: m[0] if m[1] else f"{m[0]} v", text)
    return " ".join(text.split())


def without_punctuation(text: str) -> str:
    """Text with the signs gone that only part words, so that a label meets its number."""
    text = re.sub(r"[()\[\]{}\"#*:=@]|(?<![\d])\.(?!\d)", " ", text)
    text = re.sub(r"(?<=[a-z])\s*-\s*(?=\d)|(?<=\d)\s*-\s*(?=[a-z])", " ", text)
    return " ".join(text.replace(" , ", " ").split())


def has_negative(text: str) -> bool:
    """True where a number carries a minus sign, not a dash between two numbers or words."""
    return bool(_NEGATIVE.search(text))
