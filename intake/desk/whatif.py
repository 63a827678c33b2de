"""What-if: the stored run beside one with other assumptions. Nothing is kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django import forms

from intake.desk.choosing import Choice, chosen_result
from intake.desk.difference import Changed, difference
from intake.desk.sizing import changed, sized_document
from sizing import DocumentRefused, GeneratorSet
from sizing.requirement import STARTING_METHODS, SUPPLIES

Document = dict[str, Any]


class WhatIf(forms.Form):
    """Everything left empty stays as it is answered."""

    supply = forms.ChoiceField(required=False)
    altitude = forms.CharField(max_length=40, required=False)
    ambient = forms.CharField(max_length=40, required=False)
    load = forms.IntegerField(required=False, min_value=0, max_value=2000)
    starting = forms.ChoiceField(required=False)
    after = forms.CharField(max_length=120, required=False)
    sets = forms.CharField(max_length=120, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["supply"].choices = _choices(SUPPLIES)  # type: ignore[attr-defined]
        self.fields["starting"].choices = _choices(STARTING_METHODS)  # type: ignore[attr-defined]


def _choices(codes: Sequence[str]) -> list[tuple[str, str]]:
    return [("", "as answered"), *((code, code.replace("_", " ")) for code in codes)]


@dataclass(frozen=True, slots=True)
class Supposed:
    """What the supposition leads to: the differences, or why it cannot be sized."""

    changes: tuple[Changed, ...] = ()
    problems: tuple[str, ...] = ()
    result: Mapping[str, Any] | None = None


def supposed(
    result: Mapping[str, Any],
    document: Mapping[str, Any],
    fleet: Sequence[GeneratorSet],
    asked: Mapping[str, Any],
) -> Supposed:
    """The difference between the stored result and the one with other assumptions."""
    changed_document = _document(document, asked)
    try:
        other: Document | None = sized_document(changed_document, fleet)
        if asked.get("sets") and other is not None:
            choice = Choice(sets=asked["sets"], reason="what if")
            other = chosen_result(other, changed_document, fleet, choice)
    except DocumentRefused as refusal:
        return Supposed(problems=tuple(f"{p.path}: {p.message}" for p in refusal.problems))
    if other is None:
        return Supposed(problems=("This set is not in the fleet, or nothing can be sized.",))
    own = [f for f in result.get("findings", []) if f in other["findings"]]
    plain = {**result, "findings": own or other["findings"]}
    return Supposed(changes=tuple(difference(plain, other)), result=other)


def _document(document: Mapping[str, Any], asked: Mapping[str, Any]) -> Document:
    """The requirement with what is supposed put in."""
    supposing: Document = dict(document)
    if asked.get("supply"):
        supposing = changed(supposing, ["supply"], asked["supply"])
    for name in ("altitude", "ambient"):
        if asked.get(name):
            supposing = changed(supposing, ["site", name], asked[name])
    index = asked.get("load")
    if index is not None and 0 <= index < len(document["loads"]):
        for name, key in (("starting", "starting"), ("after", "starts_after")):
            if asked.get(name):
                supposing = changed(supposing, ["loads", index, key], asked[name])
    return supposing
