"""A nameplate in the customer's words: what was understood, what is missing, what cannot be."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from intake.questions.equipment import EQUIPMENT_KINDS, MOTORS
from intake.questions.question import Words
from intake.questions.sentences import shortened
from sizing.errors import Problem
from sizing.nameplate import Nameplate

FIELD_WORDS: dict[str, Words] = {
    "hp": gettext_lazy("Power"),
    "shaft_kw": gettext_lazy("Power at the shaft"),
    "watts": gettext_lazy("Power"),
    "kva": gettext_lazy("Apparent power"),
    "volts": gettext_lazy("Voltage"),
    "system": gettext_lazy("Voltage"),
    "secondary": gettext_lazy("Voltage given out"),
    "amps": gettext_lazy("Running current"),
    "phases": gettext_lazy("Phases"),
    "hertz": gettext_lazy("Frequency"),
    "code_letter": gettext_lazy("Code letter"),
    "design_letter": gettext_lazy("Design letter"),
    "power_factor": gettext_lazy("Power factor"),
    "efficiency": gettext_lazy("Efficiency"),
    "service_factor": gettext_lazy("Service factor"),
    "service_factor_amps": gettext_lazy("Current at the service factor"),
    "locked_rotor_amps": gettext_lazy("Locked-rotor current"),
    "min_circuit_amps": gettext_lazy("Least circuit current (MCA)"),
    "max_overcurrent_amps": gettext_lazy("Largest fuse or breaker"),
    "cooling_btu_h": gettext_lazy("Cooling"),
    "rpm": gettext_lazy("Speed"),
    "lamp_type": gettext_lazy("Lamp"),
    "duty": gettext_lazy("Duty"),
}
_UNITS = {
    "hp": "hp", "shaft_kw": "kW", "kva": "kVA", "amps": "A", "hertz": "Hz", "volts": "V",
    "service_factor_amps": "A", "locked_rotor_amps": "A", "min_circuit_amps": "A",
    "max_overcurrent_amps": "A", "cooling_btu_h": "Btu/h", "rpm": "rpm", "watts": "W",
    "system": "V", "secondary": "V",
}  # fmt: skip
_REFUSED: dict[str, Words] = {
    "nothing_understood": gettext_lazy(
        "We could not read “{text}”. Write each number with its unit, like “{example}”."
    ),
    "negative": gettext_lazy("A number in “{text}” is below zero. Type it as it is stamped."),
    "absurd": gettext_lazy(
        "The {field} in “{text}” cannot be right for equipment on a hired set. Check the plate."
    ),
    "not_a_number": gettext_lazy("A number in “{text}” cannot be read. Type it as it is stamped."),
}
_FALLBACK = gettext_lazy("We could not read “{text}”. Type it as it is stamped, like “{example}”.")


@dataclass(frozen=True, slots=True)
class PlateLine:
    """One thing understood from a plate."""

    label: Words
    value: str
    field: str = ""


def plate_sentence(problem: Problem, text: str) -> str:
    """A problem of a plate as a sentence for its field."""
    pattern = str(_REFUSED.get(problem.code, _FALLBACK))
    return pattern.format(
        text=shortened(text),
        example=EQUIPMENT_KINDS["pump"].example,
        field=str(FIELD_WORDS.get(problem.path, _("number"))).lower(),
    )


def plate_lines(plate: Nameplate) -> list[PlateLine]:
    """What was understood, field by field."""
    return [
        PlateLine(words, _value(name, getattr(plate, name)), name)
        for name, words in FIELD_WORDS.items()
        if getattr(plate, name) not in (None, (), "")
    ]


def _value(name: str, value: object) -> str:
    if name == "phases":
        return _("single phase") if value == 1 else _("three phase")
    if name in ("power_factor", "efficiency") and isinstance(value, float):
        return f"{value * 100:g} %"
    values = value if isinstance(value, tuple) else (value,)
    shown = " / ".join(f"{v:,g}" if isinstance(v, int | float) else str(v) for v in values)
    return f"{shown} {_UNITS[name]}" if name in _UNITS else shown


def plate_missing(plate: Nameplate, kind: str) -> list[str]:
    """What a rep would ask for next; nothing of it blocks the request."""
    missing: list[str] = []
    if not (plate.volts or plate.system):
        missing.append(_("the volts (V)"))
    if plate.phases is None and not plate.system:
        missing.append(_("single or three phase (ph)"))
    if not _has_size(plate):
        missing.append(_("the power (hp, kW or W) or the amps (A)"))
    if kind in MOTORS and plate.code_letter is None and plate.locked_rotor_amps is None:
        missing.append(_("the code letter, if there is one"))
    return missing


def _has_size(plate: Nameplate) -> bool:
    sizes = (plate.hp, plate.shaft_kw, plate.watts, plate.kva, plate.min_circuit_amps)
    return bool(plate.amps or plate.cooling_btu_h or any(size is not None for size in sizes))
