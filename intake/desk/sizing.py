"""Sizing without storing: what would be, if an answer were another one."""

from __future__ import annotations

import copy
from collections.abc import Mapping, Sequence
from typing import Any

from sizing import GeneratorSet, read_requirement, recommend

Document = dict[str, Any]


def sized_document(document: Mapping[str, Any], fleet: Sequence[GeneratorSet]) -> Document:
    """The result for a requirement document."""
    return recommend(read_requirement(document), fleet).document()


def changed(document: Mapping[str, Any], path: Sequence[str | int], value: Any) -> Document:
    """A copy of a requirement document with one value put in or, with ``None``, left out."""
    result: Document = copy.deepcopy(dict(document))
    place: Any = result
    for step in path[:-1]:
        place = place[step] if isinstance(step, int) else place.setdefault(step, {})
    if value is None:
        place.pop(path[-1], None)
    else:
        place[path[-1]] = value
    return result
