"""The set's own record: what the owner knows of each set, read from and written to CSV."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path
from typing import NamedTuple

from sizing.errors import DocumentRefused, Problem
from sizing.requirement import SUPPLIES


@dataclass(frozen=True, slots=True)
class GeneratorSet:
    """One type of towable set. Ratings: prime power at 0.8 power factor, reference conditions.

    ``supplies`` lists the selector positions (C84.1 notation). ``single_phase_kva`` is the rating
    at 120/240, ``None`` where only the default share applies. Derating points are
    ``(altitude_m, factor)`` and ``(ambient_c, factor)``, ascending; empty where there are none.
    ``fuel_l_h`` is burn at 25, 50, 75 and 100 % of prime power. ``receptacles`` maps a
    configuration to its count; ``live_120v_at_480`` is true where 120 V receptacles live in that
    position.
    """

    code: str
    name: str
    prime_kw: float
    prime_kva: float
    supplies: tuple[str, ...]
    transient_reactance_pu: float
    single_phase_kva: float | None = None
    subtransient_reactance_pu: float | None = None
    performance_class: str = "G2"
    max_step_percent: float = 60.0
    engine_altitude_derate: tuple[tuple[float, float], ...] = ()
    engine_ambient_derate: tuple[tuple[float, float], ...] = ()
    alternator_altitude_derate: tuple[tuple[float, float], ...] = ()
    alternator_ambient_derate: tuple[tuple[float, float], ...] = ()
    aspiration: str = "turbocharged_aftercooled"
    fuel_l_h: tuple[float, float, float, float] = (0.0, 0.0, 0.0, 0.0)
    tank_l: float = 0.0
    usable_tank_fraction: float = 0.9
    sound_dba_7m: float = 70.0
    sound_load_percent: float = 75.0
    dry_mass_kg: float = 0.0
    receptacles: dict[str, int] = field(default_factory=dict)
    live_120v_at_480: bool = False
    lugs: bool = True
    cam_sets: int = 0
    main_breaker_a: float | None = None
    auto_start: bool = True
    can_parallel: bool = False
    load_bank_kw: float = 0.0
    inertia_s: float = 1.0  # H of engine and alternator together
    governor_lag_s: float = 0.2
    turbo_lag_s: float = 1.0
    naturally_aspirated_share: float = 0.5  # share of rated torque there at once
    quantity: int = 1
    stand_in: bool = False


ASPIRATIONS = ("naturally_aspirated", "turbocharged", "turbocharged_aftercooled")
PERFORMANCE_CLASSES = ("G1", "G2", "G3")
FUEL_COLUMNS = ("fuel_25_l_h", "fuel_50_l_h", "fuel_75_l_h", "fuel_100_l_h")
SINGLE_PHASE_SHARE_MAX = 2 / 3  # no public manual allows more of the three-phase kVA at 120/240

Points = tuple[tuple[float, float], ...]


class CellRefused(ValueError):
    """A cell of a fleet file cannot be read; the text says what to write instead."""


def _number(low: float, high: float) -> Callable[[str], float]:
    """A reader of finite numbers from ``low`` to ``high``, both allowed."""

    def read(text: str) -> float:
        try:
            value = float(text)
        except ValueError:
            raise CellRefused(f"'{text}' is not a number") from None
        if not low <= value <= high:
            raise CellRefused(f"{text} must be from {low:g} to {high:g}")
        return value

    return read


def _whole(low: int, high: int) -> Callable[[str], int]:
    """A reader of whole numbers from ``low`` to ``high``, both allowed."""

    def read(text: str) -> int:
        if not text.isdecimal() or not low <= int(text) <= high:
            raise CellRefused(f"'{text}' must be a whole number from {low} to {high}")
        return int(text)

    return read


def _flag(text: str) -> bool:
    """``yes`` or ``no``."""
    if text not in ("yes", "no"):
        raise CellRefused(f"'{text}' must be yes or no")
    return text == "yes"


def _one_of(allowed: tuple[str, ...]) -> Callable[[str], str]:
    """A reader of one word out of ``allowed``."""

    def read(text: str) -> str:
        if text not in allowed:
            raise CellRefused(f"'{text}' must be one of {', '.join(allowed)}")
        return text

    return read


def _word(text: str) -> str:
    """Any text, but some."""
    if not text:
        raise CellRefused("must not be empty")
    return text


def _supplies(text: str) -> tuple[str, ...]:
    """Selector positions parted by ``;``."""
    read = _one_of(SUPPLIES)
    return tuple(read(part.strip()) for part in _word(text).split(";"))


def _points(text: str) -> Points:
    """Derating points ``at:factor`` parted by ``;``, ascending, factors above 0 up to 1."""
    factor = _number(0.01, 1.0)
    pairs = (part.partition(":") for part in text.split(";") if part.strip())
    points = tuple((_number(-500, 9000)(at.strip()), factor(rest.strip())) for at, _, rest in pairs)
    if any(low[0] >= high[0] for low, high in pairwise(points)):
        raise CellRefused("points must ascend")
    return points


def _counts(text: str) -> dict[str, int]:
    """Receptacles ``configuration:count`` parted by ``;``."""
    count = _whole(1, 99)
    pairs = (part.partition(":") for part in text.split(";") if part.strip())
    return {_word(name.strip()): count(rest.strip()) for name, _, rest in pairs}


class Column(NamedTuple):
    """How one column is read; ``needed`` where the record cannot do without it."""

    read: Callable[[str], object]
    needed: bool = False


COLUMNS: Mapping[str, Column] = {
    "code": Column(_word, needed=True),
    "name": Column(_word, needed=True),
    "prime_kw": Column(_number(1, 3000), needed=True),
    "prime_kva": Column(_number(1, 4000), needed=True),
    "supplies": Column(_supplies, needed=True),
    "single_phase_kva": Column(_number(1, 3000)),
    "transient_reactance_pu": Column(_number(0.03, 0.6), needed=True),
    "subtransient_reactance_pu": Column(_number(0.02, 0.5)),
    "performance_class": Column(_one_of(PERFORMANCE_CLASSES)),
    "max_step_percent": Column(_number(10, 100)),
    "engine_altitude_derate": Column(_points),
    "engine_ambient_derate": Column(_points),
    "alternator_altitude_derate": Column(_points),
    "alternator_ambient_derate": Column(_points),
    "aspiration": Column(_one_of(ASPIRATIONS)),
    **{name: Column(_number(0.1, 1000), needed=True) for name in FUEL_COLUMNS},
    "tank_l": Column(_number(0, 20000), needed=True),
    "usable_tank_fraction": Column(_number(0.5, 1)),
    "sound_dba_7m": Column(_number(40, 120), needed=True),
    "sound_load_percent": Column(_number(0, 100)),
    "dry_mass_kg": Column(_number(50, 40000), needed=True),
    "receptacles": Column(_counts),
    "live_120v_at_480": Column(_flag),
    "lugs": Column(_flag),
    "cam_sets": Column(_whole(0, 12)),
    "main_breaker_a": Column(_number(10, 5000)),
    "auto_start": Column(_flag),
    "can_parallel": Column(_flag),
    "load_bank_kw": Column(_number(0, 3000)),
    "inertia_s": Column(_number(0.1, 10)),
    "governor_lag_s": Column(_number(0.01, 5)),
    "turbo_lag_s": Column(_number(0.05, 10)),
    "naturally_aspirated_share": Column(_number(0.1, 1)),
    "quantity": Column(_whole(0, 999)),
    "stand_in": Column(_flag),
}


def read_fleet(source: Path | str) -> tuple[GeneratorSet, ...]:
    """Read a fleet from a CSV file or from CSV text; all problems are reported at once.

    Parameters
    ----------
    source : Path or str
        A path, or the text itself where it holds a line break [-]

    Returns
    -------
    tuple of GeneratorSet
        Sets in the order of the file, at least one [-]

    Raises
    ------
    DocumentRefused
        Unknown or missing columns, unreadable cells, figures that contradict one another, a code
        twice, or no row at all; each with its path ``fleet[2].prime_kw``.

    Notes
    -----
    An empty cell means the record does not say; the default of ``GeneratorSet`` then holds.
    """
    reader = csv.DictReader(io.StringIO(_text(source)), restkey="", strict=True)
    try:
        header, rows = tuple(reader.fieldnames or ()), list(reader)
    except csv.Error as error:
        raise DocumentRefused(
            [Problem("fleet", "fleet_unreadable", f"not a CSV: {error}")]
        ) from error
    problems = _header_problems(header) or ([] if rows else [_problem("fleet", "has no set")])
    if problems:
        raise DocumentRefused(problems)
    sets = [_read_set(index, row, problems) for index, row in enumerate(rows)]
    problems += _repeated(rows)
    if problems:
        raise DocumentRefused(problems)
    return tuple(one for one in sets if one is not None)


def write_fleet(sets: Iterable[GeneratorSet]) -> str:
    """CSV text that ``read_fleet`` reads back into equal sets.

    Parameters
    ----------
    sets : iterable of GeneratorSet
        Sets in the order wanted [-]

    Returns
    -------
    str
        Header and one line a set [-]

    Raises
    ------
    AttributeError
        For anything that is not a GeneratorSet.
    """
    out = io.StringIO()
    writer = csv.DictWriter(out, tuple(COLUMNS), lineterminator="\n")
    writer.writeheader()
    for one in sets:
        burn = dict(zip(FUEL_COLUMNS, one.fuel_l_h, strict=True))
        writer.writerow({name: _cell(burn.get(name, getattr(one, name, None))) for name in COLUMNS})
    return out.getvalue()


def _cell(value: object) -> str:
    """One value as ``read_fleet`` reads it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return repr(value).removesuffix(".0")
    if isinstance(value, Mapping):
        return ";".join(f"{name}:{count}" for name, count in value.items())
    if isinstance(value, tuple):
        return ";".join(":".join(map(_cell, p)) if isinstance(p, tuple) else p for p in value)
    return str(value)


def _text(source: Path | str) -> str:
    """Text of a file, without a byte-order mark, or the text given."""
    if isinstance(source, str) and "\n" in source:
        return source.removeprefix("\ufeff")
    try:
        return Path(source).read_text(encoding="utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        reason = error.strerror if isinstance(error, OSError) else "it is not UTF-8 text"
        raise DocumentRefused([_problem("fleet", f"cannot read {source}: {reason}")]) from error


def _problem(path: str, message: str) -> Problem:
    return Problem(path, "fleet_refused", message)


def _header_problems(header: tuple[str, ...]) -> list[Problem]:
    """Columns that are unknown, missing or twice."""
    needed = [name for name, column in COLUMNS.items() if column.needed]
    return [
        *(
            _problem(f"fleet.{n}", "unknown column: remove or rename it")
            for n in header
            if n not in COLUMNS
        ),
        *(_problem(f"fleet.{n}", "this column is missing") for n in needed if n not in header),
        *(
            _problem(f"fleet.{n}", "this column is there twice")
            for n in {n for n in header if header.count(n) > 1}
        ),
    ]


def _read_set(index: int, row: dict[str, str], problems: list[Problem]) -> GeneratorSet | None:
    """One set, or ``None`` with its problems appended."""
    found = len(problems)
    if "" in row:
        problems.append(_problem(f"fleet[{index}]", "has more cells than the header"))
    values = {name: _read_cell(index, name, row, problems) for name in COLUMNS if name in row}
    if len(problems) > found:
        return None
    burn = tuple(values.pop(name) for name in FUEL_COLUMNS)
    given = {name: value for name, value in values.items() if value is not None}
    one = GeneratorSet(**given, fuel_l_h=burn)  # type: ignore[arg-type]
    problems += [_problem(f"fleet[{index}].{name}", why) for name, why in _contradictions(one)]
    return one


def _read_cell(index: int, name: str, row: dict[str, str], problems: list[Problem]) -> object:
    """Value of one cell; ``None`` where it is empty or refused."""
    text, column = (row[name] or "").strip(), COLUMNS[name]
    if not text and not column.needed:
        return None
    try:
        return column.read(text)
    except CellRefused as refusal:
        problems.append(_problem(f"fleet[{index}].{name}", str(refusal)))
        return None


def _contradictions(one: GeneratorSet) -> list[tuple[str, str]]:
    """Figures of one record that cannot all be true: (column, sentence)."""
    x2 = one.subtransient_reactance_pu
    rules = (
        ("prime_kva", one.prime_kw <= one.prime_kva <= 1.6 * one.prime_kw,
         "must lie between prime_kw and 1.6 times it: the rating is at 0.8 power factor"),
        ("single_phase_kva", (one.single_phase_kva or 0) <= SINGLE_PHASE_SHARE_MAX * one.prime_kva
         or one.supplies == ("120/240",), "must not exceed two thirds of prime_kva"),
        ("single_phase_kva", one.single_phase_kva is None or "120/240" in one.supplies,
         "is given but 120/240 is not among the supplies"),
        ("subtransient_reactance_pu", x2 is None or x2 < one.transient_reactance_pu,
         "must be below transient_reactance_pu"),
        ("fuel_25_l_h", list(one.fuel_l_h) == sorted(set(one.fuel_l_h)), "must rise with load"),
        ("fuel_50_l_h", one.fuel_l_h[1] < 2 * one.fuel_l_h[0],
         "must be under twice fuel_25_l_h: an idling engine burns fuel too"),
    )  # fmt: skip
    return [(name, why) for name, holds, why in rules if not holds]


def _repeated(rows: list[dict[str, str]]) -> list[Problem]:
    """Codes that more than one row carries."""
    codes = [(row.get("code") or "").strip() for row in rows]
    return [
        _problem(
            f"fleet[{index}].code", f"'{code}' is already the code of fleet[{codes.index(code)}]"
        )
        for index, code in enumerate(codes)
        if code and codes.index(code) < index
    ]
