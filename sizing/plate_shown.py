"""What was understood of a plate, and what its kind of load still lacks: for people to check."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from sizing.plate import Nameplate
from sizing.quantity import written
from sizing.supply_fit import LOAD_CLASS

STAMPED, FROM_TEXT = "stamped", "read from text"


def _list(unit: str) -> Callable[[Any], str]:
    return lambda values: " / ".join(f"{v:,g}" for v in values) + f" {unit}"


def _quantity(unit: str) -> Callable[[Any], str]:
    return lambda value: written(value, unit)


def _percent(value: float) -> str:
    return f"{100 * value:.4g} %"


def _words(value: Any) -> str:
    return ", ".join(value)


SHOWN: Mapping[str, tuple[str, Callable[[Any], str]]] = {
    "hp": ("Power", _quantity("hp")),
    "shaft_kw": ("Shaft power", _quantity("kW")),
    "watts": ("Watts", _quantity("W")),
    "pieces": ("Lamps in one fixture", str),
    "kva": ("Apparent power", _quantity("kVA")),
    "volts": ("Voltage", _list("V")),
    "system": ("Supply system", str),
    "secondary": ("Secondary", str),
    "amps": ("Running current", _list("A")),
    "phases": ("Phases", str),
    "hertz": ("Frequency", _quantity("Hz")),
    "code_letter": ("Code letter", str),
    "design_letter": ("Design letter", str),
    "power_factor": ("Power factor", lambda v: f"{v:.3g}"),
    "efficiency": ("Efficiency", _percent),
    "service_factor": ("Service factor", lambda v: f"{v:.3g}"),
    "service_factor_amps": ("Service factor current", _list("A")),
    "locked_rotor_amps_each": ("Locked-rotor current", _list("A")),
    "min_circuit_amps": ("Minimum circuit ampacity", _quantity("A")),
    "max_overcurrent_amps": ("Largest protection", _quantity("A")),
    "cooling_btu_h": ("Cooling", _quantity("Btu/h")),
    "rpm": ("Speed", _quantity("rpm")),
    "lamp_type": ("Lamp", str),
    "duty": ("Duty", str),
    "noted": ("Noted, no bearing on the set", _words),
    "not_understood": ("Not understood", _words),
}


def explain(plate: Nameplate) -> list[tuple[str, str, str]]:
    """Return what was understood of a plate, field by field, as a page writes it.

    Parameters
    ----------
    plate : Nameplate
        A plate that was read [-]

    Returns
    -------
    list of tuple of str
        Label, value with its unit, and ``stamped`` (given as a field) or ``read from text`` [-]

    Raises
    ------
    AttributeError
        ``plate`` is no plate.
    """
    way = FROM_TEXT if plate.text else STAMPED
    return [
        (label, write(value), way)
        for name, (label, write) in SHOWN.items()
        if (value := getattr(plate, name)) not in (None, "", ())
    ]


def missing(plate: Nameplate, kind: str) -> list[str]:
    """Return what a plate of this kind still lacks, in words a person can look for.

    Parameters
    ----------
    plate : Nameplate
        A plate, perhaps empty [-]
    kind : str
        One of the load kinds [-]

    Returns
    -------
    list of str
        Empty where the plate says enough [-]

    Raises
    ------
    KeyError
        ``kind`` is not a load kind.
    """
    lacking = [words for words, lacks in _LACKS[LOAD_CLASS[kind]] if lacks(plate)]
    return [words for words in lacking if not (kind == "hvac" and words == _POWER)]


def _lacks_size(plate: Nameplate) -> bool:
    return not any((
        plate.hp, plate.shaft_kw, plate.watts, plate.kva, plate.amps, plate.min_circuit_amps,
        plate.cooling_btu_h,
    ))  # fmt: skip


def _lacks_volts(plate: Nameplate) -> bool:
    return not (plate.volts or plate.system)


def _lacks_start(plate: Nameplate) -> bool:
    return plate.code_letter is None and plate.locked_rotor_amps is None


_POWER = "power (hp or kW)"
_VOLTS: tuple[str, Callable[[Nameplate], bool]] = ("voltage (V)", _lacks_volts)
_PHASES: tuple[str, Callable[[Nameplate], bool]] = ("phases (PH)", lambda p: p.phases is None)
_SIZE: tuple[str, Callable[[Nameplate], bool]] = ("watts, kVA or amps", _lacks_size)
_LACKS: Mapping[str, tuple[tuple[str, Callable[[Nameplate], bool]], ...]] = {
    "motor": (
        ("power or full-load amps", _lacks_size),
        (_POWER, lambda p: p.hp is None and p.shaft_kw is None and p.watts is None),
        _VOLTS,
        _PHASES,
        ("full-load amps (FLA)", lambda p: not p.amps and p.min_circuit_amps is None),
        ("code letter or locked-rotor amps (LRA)", _lacks_start),
    ),
    "heater": (("watts or kW", _lacks_size), _VOLTS),
    "ballast": (
        ("watts", lambda p: p.watts is None and not p.amps),
        _VOLTS,
        ("kind of lamp", lambda p: p.lamp_type is None),
    ),
    "panel": (("amps of the main breaker", lambda p: not p.amps and p.kva is None), _VOLTS),
    "electronics": (_SIZE, _VOLTS),
    "welder": (("input amps or kVA", _lacks_size), _VOLTS, _PHASES),
    "transformer": (
        ("kVA", lambda p: p.kva is None),
        _VOLTS,
        ("secondary voltage", lambda p: not p.secondary),
    ),
}
