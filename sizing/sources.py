"""The report of sources: each table with its document, edition, section, and how it was had."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from sizing.tables import Source, sources, table

WORDS = {
    "read": "read in the source or a transcription of it",
    "memory": "recalled, not read",
    "computed": "computed from a definition",
    "chosen": "chosen, with the reason in the note",
    "mixed": "each row says it",
}


def report() -> str:
    """Return the report of every table and rule as text.

    Returns
    -------
    str
        One block an entry, a count by way at the end, ending in a line break [-]

    Raises
    ------
    TableRefused
        A table is damaged.
    """
    entries = [sources()[name] for name in sorted(sources())]
    blocks = [_block(entry) for entry in entries]
    return "\n\n".join([*blocks, _tally(entries)]) + "\n"


def row_ways(entry: Source) -> Mapping[str, int]:
    """Return how many rows of a table were had in which way.

    Parameters
    ----------
    entry : Source
        An entry of ``sources.toml`` [-]

    Returns
    -------
    mapping of str to int
        Rows by way; empty for a rule without a table [rows]

    Raises
    ------
    TableRefused
        The table is damaged.
    """
    if not entry.rows:
        return {}
    if entry.how != "mixed":
        return {entry.how: entry.rows}
    return Counter(table(entry.name).column("how"))


def _block(entry: Source) -> str:
    """One entry: name, document, edition, section, how, rows and note."""
    title = " ".join(part for part in (entry.document, entry.edition) if part)
    ways = ", ".join(f"{count} {way}" for way, count in row_ways(entry).items())
    lines = [
        f"{entry.name}",
        f"  document  {title}",
        f"  section   {entry.section}" if entry.section else "",
        f"  how       {entry.how}: {WORDS[entry.how]}",
        f"  rows      {entry.rows} ({ways})" if ways else "  rows      none: a rule",
        f"  note      {entry.note}" if entry.note else "",
    ]
    return "\n".join(line for line in lines if line)


def _tally(entries: Iterable[Source]) -> str:
    """Tables and rows by way."""
    kept = list(entries)
    rows: Counter[str] = Counter()
    for entry in kept:
        rows.update(row_ways(entry))
    counted = ", ".join(f"{rows[way]} {way}" for way in WORDS if rows[way])
    return f"{len(kept)} entries; rows: {counted}"
