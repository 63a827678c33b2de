"""One piece of a load at the winding that serves it: what the running figures are worked from."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, NamedTuple

from sizing.motor_tables import kva_of
from sizing.plate import Nameplate
from sizing.supply_fit import Fit
from sizing.tables import table
from sizing.trace import Trace

if TYPE_CHECKING:
    from sizing.requirement import Load

STEADY_LAMPS = ("led", "incandescent")
ROOT = {1: "", 3: "sqrt(3) x "}


class Figures(NamedTuple):
    """Running figures of one piece [kW], [kVA], [-], and the size a motor is taken to have [hp]."""

    kw: float
    kva: float
    power_factor: float
    hp: float | None = None


class Piece(NamedTuple):
    """One piece at the winding that serves it: what the chapter's equations take."""

    load: Load
    fit: Fit
    volts: float  # stamped voltage of the winding, or the system's where none is stamped
    trace: Trace | None

    @property
    def plate(self) -> Nameplate:
        """What is stamped."""
        return self.load.nameplate

    @property
    def amps(self) -> float | None:
        """Stamped running amperes of this winding [A]."""
        return amps_at(self.plate, self.volts)

    @property
    def defaults(self) -> Any:
        """Row of ``load_kinds`` for this load."""
        return table("load_kinds").row(defaults_row(self.load.kind, self.plate))

    def note(self, line: str, source: str) -> None:
        """Write one line of the worked sheet."""
        if self.trace is not None:
            self.trace.add("nameplate", f"{self.load.name}: {line}", source)


def amps_at(plate: Nameplate, volts: float) -> float | None:
    """Return the stamped running amperes of the winding nearest a voltage [A].

    Parameters
    ----------
    plate : Nameplate
        What is stamped [-]
    volts : float
        Voltage of the winding [V]

    Returns
    -------
    float or None
        Its amperes, else its service-factor amperes; the largest where they cannot be told apart;
        ``None`` where none are stamped [A]

    Raises
    ------
    ValueError
        Never for a plate that was read.
    """
    return _at_winding(plate, plate.amps or plate.service_factor_amps, volts)


def _at_winding(plate: Nameplate, each: tuple[float, ...], volts: float) -> float | None:
    if not each:
        return None
    if len(each) != len(plate.volts):
        return max(each)
    place = min(range(len(each)), key=lambda i: abs(plate.volts[i] - volts))
    return each[place]


def locked_rotor_at(plate: Nameplate, volts: float) -> tuple[float, float] | None:
    """Return the stamped locked-rotor amperes that hold at a winding, and their voltage.

    Parameters
    ----------
    plate : Nameplate
        What is stamped [-]
    volts : float
        Voltage of the winding used [V]

    Returns
    -------
    tuple of float, or None
        Amperes [A] and the voltage they are stamped at [V]; ``None`` where none are stamped

    Raises
    ------
    ValueError
        Never for a plate that was read.

    Notes
    -----
    Conservative: one current for several voltages is taken at the highest, which gives the most
    kVA; the kVA of a machine is the same at each of its voltages.
    """
    each, locked = plate.locked_rotor_amps_each, plate.locked_rotor_amps
    if len(each) == len(plate.volts) and each:
        return _at_winding(plate, each, volts) or max(each), volts
    if locked is None:
        return None
    return max((locked, *each)), max(plate.volts, default=volts)


def is_cooling_unit(kind: str, plate: Nameplate) -> bool:
    """Return whether a plate is a whole air conditioner's: its hp, if any, is then its fan's."""
    stamped = plate.amps or plate.min_circuit_amps or plate.cooling_btu_h or plate.hp is None
    return kind == "hvac" and bool(stamped)


def defaults_row(kind: str, plate: Nameplate) -> str:
    """Return the row of ``load_kinds`` that a load falls under."""
    if kind == "lamp" and plate.lamp_type in STEADY_LAMPS:
        return plate.lamp_type
    return "motor" if kind in ("motor", "pump", "compressor") else kind


def stamped_kva(piece: Piece, amps: float) -> float:
    """Return apparent power of stamped amperes at this winding [kVA]."""
    kva = kva_of(amps, piece.volts, piece.fit.phases)
    if piece.trace is not None:
        piece.note(product_line(piece, amps, kva), "nameplate")
    return kva


def product_line(piece: Piece, amps: float, kva: float) -> str:
    """Return the substitution of S = sqrt(3) V I / 1000 for the worked sheet."""
    root = ROOT[piece.fit.phases]
    return f"S = {root}{piece.volts:g} V x {amps:.4g} A / 1000 = {kva:.2f} kVA"
