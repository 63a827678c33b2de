"""The table of config/SECURITY.md is whole, and what it points at is there.

The requirements of levels 1 and 2 are those of OWASP ASVS 5.0.0, counted section by section in its
published table: in each section so many, without those of level 3.
"""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TEXT = (ROOT / "config/SECURITY.md").read_text()

# section: (how many requirements it has, which of them are of level 3)
SECTIONS: dict[str, tuple[int, set[int]]] = {
    "1.1": (2, set()), "1.2": (10, {10}), "1.3": (12, {12}), "1.4": (3, set()), "1.5": (3, {3}),
    "2.1": (3, set()), "2.2": (3, set()), "2.3": (5, {5}), "2.4": (2, {2}),
    "3.1": (1, {1}), "3.2": (3, {3}), "3.3": (5, {5}), "3.4": (8, {7, 8}), "3.5": (8, {6, 7, 8}),
    "3.6": (1, {1}), "3.7": (5, {3, 4, 5}),
    "4.1": (5, {4, 5}), "4.2": (5, {2, 3, 4, 5}), "4.3": (2, set()), "4.4": (4, set()),
    "5.1": (1, set()), "5.2": (6, {4, 5, 6}), "5.3": (3, {3}), "5.4": (3, set()),
    "6.1": (3, set()), "6.2": (12, set()), "6.3": (8, {5, 6, 7, 8}), "6.4": (6, {5, 6}),
    "6.5": (8, {6, 7, 8}), "6.6": (4, {4}), "6.7": (2, {1, 2}), "6.8": (4, set()),
    "7.1": (3, set()), "7.2": (4, set()), "7.3": (2, set()), "7.4": (5, set()), "7.5": (3, {3}),
    "7.6": (2, set()),
    "8.1": (4, {3, 4}), "8.2": (4, {4}), "8.3": (3, {2, 3}), "8.4": (2, {2}),
    "9.1": (3, set()), "9.2": (4, set()),
    "10.1": (2, set()), "10.2": (3, {3}), "10.3": (5, {5}), "10.4": (16, {12, 13, 14, 15, 16}),
    "10.5": (5, set()), "10.6": (2, set()), "10.7": (3, set()),
    "11.1": (4, {3, 4}), "11.2": (5, {4, 5}), "11.3": (5, {4, 5}), "11.4": (4, set()),
    "11.5": (2, {2}), "11.6": (2, {2}), "11.7": (2, {1, 2}),
    "12.1": (5, {4, 5}), "12.2": (2, set()), "12.3": (5, {5}),
    "13.1": (4, {2, 3, 4}), "13.2": (6, {6}), "13.3": (4, {3, 4}), "13.4": (7, {6, 7}),
    "14.1": (2, set()), "14.2": (8, {5, 6, 7, 8}), "14.3": (3, set()),
    "15.1": (5, {4, 5}), "15.2": (5, {4, 5}), "15.3": (7, set()), "15.4": (4, {1, 2, 3, 4}),
    "16.1": (1, set()), "16.2": (5, set()), "16.3": (4, set()), "16.4": (3, set()),
    "16.5": (4, {4}),
    "17.1": (2, {2}), "17.2": (8, {5, 6, 7, 8}), "17.3": (2, set()),
}  # fmt: skip
ROW = re.compile(r"^\| (\d+\.\d+\.\d+)(?:-(\d+\.\d+\.\d+))? \| ([\w/]+) \| (.+) \|$", re.MULTILINE)


def asked() -> list[str]:
    return [
        f"{section}.{n}"
        for section, (many, third) in SECTIONS.items()
        for n in range(1, many + 1)
        if n not in third
    ]


def answered() -> list[str]:
    found = []
    for first, last, _state, _how in ROW.findall(TEXT):
        section, begin = first.rsplit(".", 1)
        end = (last or first).rsplit(".", 1)[1]
        found += [f"{section}.{n}" for n in range(int(begin), int(end) + 1)]
    return found


def test_every_requirement_is_answered_once() -> None:
    # 70 of level 1 and 183 of level 2, as the standard itself counts them.
    assert len(asked()) == 253
    assert sorted(answered()) == sorted(asked())


def test_every_answer_is_met_or_says_why_not() -> None:
    for first, _last, state, how in ROW.findall(TEXT):
        assert state in ("met", "n/a", "open"), first
        assert how.strip(), first


def test_every_file_named_is_there() -> None:
    named = {name.split()[0] for name in re.findall(r"`([\w./ -]+)`", TEXT) if "/" in name}
    paths = {name for name in named if re.match(r"(config|intake|quotes|sizing|tests)/", name)}
    assert len(paths) > 40
    assert [path for path in sorted(paths) if not (ROOT / path).exists()] == []
