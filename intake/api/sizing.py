"""Sizing without storing anything: the documents of `setwright size`, and plates read."""

from __future__ import annotations

from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from intake.api.operations import operation
from intake.api.problems import FieldsRefused, error_item
from intake.api.reading import body_object, fields_read
from intake.api.shapes import sizing as shapes
from intake.api.view import ApiView
from intake.requests.runs import fleet_for
from sizing import read_requirement, recommend
from sizing.nameplate import Nameplate, as_object, explain, missing, read_nameplate
from sizing.plate_shown import SHOWN

UNITS = {
    "hp": "hp", "shaft_kw": "kW", "watts": "W", "kva": "kVA", "volts": "V", "amps": "A",
    "hertz": "Hz", "service_factor_amps": "A", "locked_rotor_amps": "A",
    "locked_rotor_amps_each": "A", "min_circuit_amps": "A", "max_overcurrent_amps": "A",
    "cooling_btu_h": "Btu/h", "rpm": "rpm", "volt_ranges": "V",
}  # fmt: skip
LABELS = {label: name for name, (label, _writing) in SHOWN.items()}


class SizingView(ApiView):
    """A requirement in, the result out."""

    scope = "sizing"

    @operation(
        "Size a requirement", "sizing", {200: shapes.SizingResult}, id="size",
        body={"application/json": shapes.REQUIREMENT},
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        document = body_object(request)
        _refuse_many(document)
        requirement = read_requirement(document)
        return Response(recommend(requirement, fleet_for(_dated(requirement))).document())


def _refuse_many(document: dict[str, Any]) -> None:
    """One call sizes one job: a bound keeps it short."""
    loads = document.get("loads")
    if isinstance(loads, list) and len(loads) > shapes.MOST_LOADS:
        sentence = f"Send at most {shapes.MOST_LOADS} loads; equal ones are one with a quantity."
        raise FieldsRefused([error_item("loads", "too_many", sentence)])


def _dated(requirement: Any) -> dict[str, Any]:
    hire = requirement.hire
    return {"hire": {"start": str(hire.start), "end": str(hire.end)}} if hire else {}


class PlateView(ApiView):
    """What was understood of a plate, what its kind still lacks, what was not understood."""

    scope = "sizing"

    @operation(
        "Read a nameplate", "sizing", {200: shapes.Plate}, id="read_nameplate",
        body=shapes.PlateAsked,
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        asked = fields_read(shapes.PlateAsked, request)
        return Response(plate_document(read_nameplate(asked["nameplate"]), asked["kind"]))


def plate_document(plate: Nameplate, kind: str) -> dict[str, Any]:
    """A plate as the API gives it: quantities as value and unit."""
    return {
        "read": {
            name: {"value": value, "unit": UNITS[name]} if name in UNITS else value
            for name, value in as_object(plate).items()
            if name not in ("text", "not_understood")
        },
        "shown": [
            {"field": LABELS.get(label, ""), "label": label, "written": written}
            for label, written, _way in explain(plate)
        ],
        "missing": missing(plate, kind),
        "not_understood": list(plate.not_understood),
    }
