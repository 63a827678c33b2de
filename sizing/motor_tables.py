"""Published motor figures by size: efficiency, power factor, full-load and locked-rotor kVA."""

from __future__ import annotations

import math
from bisect import bisect_right
from functools import cache, lru_cache

from sizing.errors import OutsideTable
from sizing.tables import Table, table

KW_PER_HP = 0.7457
SQRT3 = math.sqrt(3)


def phase_root(phases: int) -> float:
    """Return what volts times amperes is multiplied by: the root of three, or one [-]."""
    return SQRT3 if phases == 3 else 1.0


def kva_of(amps: float, volts: float, phases: int) -> float:
    """Return apparent power: S = sqrt(3) V I / 1000, without the root for one phase [kVA]."""
    return phase_root(phases) * volts * amps / 1000


@cache
def _efficiencies(phases: int) -> tuple[tuple[float, ...], tuple[float, ...], tuple[str, ...]]:
    rows = [row for row in table("motor_efficiency").rows if row["phases"] == phases]
    columns = ("hp", "efficiency_percent", "source")
    sizes, percents, told = (tuple(row[c] for row in rows) for c in columns)
    return sizes, percents, told


@lru_cache(maxsize=1024)
def motor_efficiency(hp: float, phases: int) -> float:
    """Return full-load efficiency where the plate has none [of 1].

    Parameters
    ----------
    hp : float
        Rated power, 0.1 to 500 three-phase, 0.1 to 10 single-phase [hp]
    phases : int
        1 or 3 [-]

    Returns
    -------
    float
        Efficiency [of 1]

    Raises
    ------
    OutsideTable
        The size is not covered.

    Notes
    -----
    Conservative: between two sizes the lower efficiency counts, and it is the energy-efficient,
    not the premium one.

    Source: motor_efficiency.
    """
    return _efficiency_row(hp, phases)[0]


def efficiency_source(hp: float, phases: int) -> str:
    """Return where the efficiency of a size stands.

    Raises
    ------
    OutsideTable
        The size is not covered.
    """
    return _efficiency_row(hp, phases)[1]


def _efficiency_row(hp: float, phases: int) -> tuple[float, str]:
    """Efficiency [of 1] and source of a size; between two sizes the lower efficiency."""
    sizes, percents, told = _efficiencies(phases)
    if not sizes[0] <= hp <= sizes[-1]:
        raise OutsideTable("motor_efficiency", hp, sizes[0], sizes[-1], "hp")
    below = bisect_right(sizes, hp) - 1
    near = [below] if sizes[below] == hp else [below, below + 1]
    percent, place = min((percents[i], i) for i in near)
    return percent / 100, told[place]


def motor_power_factor(hp: float) -> float:
    """Return running power factor at full load where the plate has none [-].

    Raises
    ------
    OutsideTable
        The size is not covered.

    Notes
    -----
    Never derived from the code's full-load currents, which are high on purpose.

    Source: motor_power_factor.
    """
    return table("motor_power_factor").between("power_factor", hp)


def full_load_kva(hp: float, phases: int, volts: float) -> float:
    """Return running kVA from the code's full-load current: S = sqrt(3) V I / 1000.

    Parameters
    ----------
    hp : float
        Rated power [hp]
    phases : int
        1 or 3 [-]
    volts : float
        Stamped voltage; the table's nearest system is taken, kVA hardly depends on it [V]

    Returns
    -------
    float
        Apparent power at full load [kVA]

    Raises
    ------
    OutsideTable
        The size is not in the column.

    Notes
    -----
    Under the smallest size of the table its kVA counts.

    Source: motor_current_single_phase (NEC Table 430.248), motor_current_three_phase (430.250).
    """
    current = _current_table(phases)
    amps, table_volts = table_amps(current, max(hp, current.rows[0]["hp"]), volts)
    return kva_of(amps, table_volts, phases)


def full_load_amps(hp: float, phases: int, volts: float) -> float:
    """Return the code's full-load current brought to the stamped voltage [A].

    Raises
    ------
    OutsideTable
        The size is not in the column.
    """
    return full_load_kva(hp, phases, volts) * 1000 / (phase_root(phases) * volts)


def locked_rotor_kva_of_table(hp: float, phases: int, volts: float) -> float:
    """Return the largest locked-rotor kVA of a design B, C or D motor: S = sqrt(3) V I / 1000.

    Raises
    ------
    OutsideTable
        The size is not in the column.

    Notes
    -----
    Under 1/2 hp, the smallest size of the tables, the locked-rotor kVA of 1/2 hp counts.

    Source: locked_rotor_single_phase (NEC Table 430.251(A)), locked_rotor_three_phase (B).
    """
    name = "locked_rotor_three_phase" if phases == 3 else "locked_rotor_single_phase"
    locked = table(name)
    amps, table_volts = table_amps(locked, max(hp, locked.rows[0]["hp"]), volts)
    return kva_of(amps, table_volts, phases)


def _current_table(phases: int) -> Table:
    return table("motor_current_three_phase" if phases == 3 else "motor_current_single_phase")


@lru_cache(maxsize=2048)
def _column(name: str, volts: float) -> tuple[str, float]:
    """Column whose system lies nearest, and its volts."""
    columns = [c for c in table(name).columns if c.startswith("amps_")]
    found = min(columns, key=lambda c: abs(math.log(column_volts(c) / volts)))
    return found, column_volts(found)


def column_volts(column: str) -> float:
    """Return the voltage in a column's name: ``amps_460v`` is 460 [V]."""
    return float(column.removeprefix("amps_").removesuffix("v"))


def table_amps(current: Table, hp: float, volts: float) -> tuple[float, float]:
    """Return the current at a size [A] and the voltage of the column it stands in [V].

    Notes
    -----
    A size that the nearest column lacks is taken from the widest one at 460 V or 230 V: the same
    motor wound for another voltage has the same kVA.

    Raises
    ------
    OutsideTable
        No column holds the size.
    """
    column, table_volts = _column(current.name, volts)
    sizes = current.points[column][0]
    if not sizes[0] <= hp <= sizes[-1]:
        widest = "amps_460v" if "amps_460v" in current.columns else "amps_230v"
        column, table_volts = widest, column_volts(widest)
    return current.between(column, hp), table_volts
