"""The plate and the demand as records: what is stamped, and what one piece draws while it runs."""

from __future__ import annotations

from dataclasses import dataclass

from sizing.errors import Problem, SizingError


@dataclass(frozen=True, slots=True)
class Nameplate:
    """What the plate says, nothing else: an empty tuple or ``None`` where it says nothing.

    Windings keep their pairs: where ``amps`` has the length of ``volts``, ``amps[i]`` is drawn at
    ``volts[i]`` ("208-230/460 V 42-38/19 A" is three pairs). Both ends of a printed range stand in
    ``volts`` too, and ``volt_ranges`` says which belong together.
    """

    text: str = ""
    hp: float | None = None
    shaft_kw: float | None = None  # a motor's rated output in kW
    watts: float | None = None  # electrical input, or lamp watts for a lamp
    kva: float | None = None
    volts: tuple[float, ...] = ()
    volt_ranges: tuple[tuple[float, float], ...] = ()
    system: str = ""  # a supply system as stamped, "120/240" on a panel
    secondary: str = ""  # a transformer's secondary system as stamped, "208Y/120"
    amps: tuple[float, ...] = ()
    phases: int | None = None
    hertz: float | None = None
    code_letter: str | None = None
    design_letter: str | None = None
    power_factor: float | None = None
    efficiency: float | None = None  # of 1
    service_factor: float | None = None
    service_factor_amps: tuple[float, ...] = ()
    locked_rotor_amps: float | None = None
    locked_rotor_amps_each: tuple[float, ...] = ()  # by winding, as ``amps``
    min_circuit_amps: float | None = None
    max_overcurrent_amps: float | None = None
    cooling_btu_h: float | None = None
    rpm: float | None = None
    lamp_type: str | None = None
    pieces: int | None = None  # equal lamps in one fixture; ``watts`` is of each
    duty: str | None = None
    typical: bool = False  # no plate was read; a typical piece of equipment stands in
    noted: tuple[str, ...] = ()  # understood, has no bearing on the set: frame, enclosure
    not_understood: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LoadDemand:
    """What one piece of a load row draws while it runs, at the winding that suits the supply.

    All figures are for one piece; multiply by ``quantity`` for the row. ``phases`` is 1 or 3.
    ``connection`` says between what a single-phase piece sits: ``line_line`` or ``line_neutral``.
    ``running_kw`` and ``running_kva`` each stand on their own source; ``power_factor`` is the
    plate's or the table's and is not their ratio.
    """

    index: int
    name: str
    kind: str
    quantity: int
    volts: float
    phases: int
    connection: str
    amps: float
    running_kw: float
    running_kva: float
    power_factor: float
    hp: float | None = None
    nonlinear_kva: float = 0.0
    third_harmonic_share: float = 0.0
    is_motor: bool = False
    demand_factor: float = 1.0
    supply: str = ""  # the system this load takes: the asked one, or another (two-voltage jobs)
    via: str = "direct"  # "direct", "other_tap", "transformer", "second_set", "receptacles"
    float_switch: bool = False
    restarts_itself: bool = False
    starts_after: str | None = None
    never_with: str | None = None
    starting: str = "across_the_line"
    lamp_type: str | None = None  # as on the plate: decides what dip a running lamp stands


class NameplateRefused(SizingError):
    """A plate cannot be read at all; holds every problem, each with the field it sits in."""

    code = "nameplate_refused"

    def __init__(self, problems: list[Problem]) -> None:
        super().__init__("; ".join(p.message for p in problems))
        self.problems = problems
