"""The inventory of what others wrote: pinned, installed as pinned, with a licence on the list.

Whether a version has a known flaw needs a service to ask: see "Patches" in config/SECURITY.md.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from importlib.metadata import Distribution, PackageNotFoundError, distribution
from pathlib import Path

from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).resolve().parents[2]
EXTRAS = ("", "embedded", "ocr", "test")
BUILDS = ("pip", "setuptools", "wheel")  # come with the virtual environment
TAKEN = {
    "Apache-2.0", "BSD", "HPND", "ISC", "LGPL", "MIT", "MIT-0", "MIT-CMU", "MPL-2.0", "PSF-2.0",
    "PostgreSQL", "Unlicense", "Zlib",
}  # fmt: skip


def pins() -> dict[str, str]:
    lines = (ROOT / "config/constraints.txt").read_text().splitlines()
    said = [line.partition("#")[0].partition(";")[0].strip() for line in lines]
    named = [line.split("==") for line in said if line]
    assert all(len(pin) == 2 for pin in named), "every line is name==version"
    return {canonicalize_name(name): version for name, version in named}


def licences() -> dict[str, str]:
    """Name to licence, as the list has it."""
    lines = (ROOT / "config/licences.txt").read_text().splitlines()
    rows = [line.split(":", 1) for line in lines if line.strip() and not line.startswith("#")]
    return {canonicalize_name(name): licence.strip() for name, licence in rows}


def found(name: str) -> Distribution | None:
    try:
        return distribution(name)
    except PackageNotFoundError:
        return None


def reached() -> dict[str, Distribution]:
    """Every installed package that ours leads to, by whatever way."""
    held: dict[str, Distribution] = {}
    waiting = [("setwright", extra) for extra in EXTRAS]
    seen = set(waiting)
    while waiting:
        name, extra = waiting.pop()
        dist = found(name)
        if dist is None:
            continue
        held[canonicalize_name(name)] = dist
        for more in needed(dist, extra):
            if more not in seen:
                seen.add(more)
                waiting.append(more)
    return {name: dist for name, dist in held.items() if name not in ("setwright", *BUILDS)}


def needed(dist: Distribution, extra: str) -> Iterator[tuple[str, str]]:
    for text in dist.requires or ():
        wanted = Requirement(text)
        if wanted.marker is None or wanted.marker.evaluate({"extra": extra}):
            for inner in ("", *wanted.extras):
                yield canonicalize_name(wanted.name), inner


def test_what_is_installed_is_what_is_pinned() -> None:
    pinned, installed = pins(), reached()
    assert len(installed) > 40
    differing = {
        name: (dist.version, pinned.get(name))
        for name, dist in installed.items()
        if dist.version != pinned.get(name)
    }
    assert differing == {}


def test_every_package_has_a_licence_we_take() -> None:
    listed = licences()
    assert set(reached()) - set(listed) == set(), "look up the licence, add it to the list"
    assert set(pins()) - set(listed) == set()
    assert set(listed) - set(pins()) == set(), "listed, but no longer pinned"
    for name, licence in listed.items():
        parts = set(re.split(r" (?:AND|OR) ", licence))
        assert parts <= TAKEN, f"{name}: {licence}"
