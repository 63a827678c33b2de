"""The sizing on the case page: the run that counts, in the figures a rep looks for.

Its rows come by the dozen, so each is written here and not by a template, node by node.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final

from django.utils.safestring import SafeString

from intake.desk.choosing import Choice, choice_of
from intake.desk.difference import failing, figure, sets_written
from intake.desk.words import reason_title
from intake.markup import A_FACT, filled_each
from intake.models import SizingRun

FIGURES: Final = (
    ("Supply", "supply", ""),
    ("Prime rating", "rated_kw", "kW"),
    ("Rating on site", "site_kw", "kW"),
    ("Load", "load_percent", "%"),
    ("Mean load", "mean_load_percent", "%"),
    ("Voltage dip", "voltage_dip_percent", "%"),
    ("Frequency dip", "frequency_dip_percent", "%"),
    ("Fuel a day", "fuel_l_per_day", "L"),
    ("One tank lasts", "autonomy_h", "h"),
    ("Sound", "sound_dba", "dBA"),
)
DEMAND_FIGURES: Final = (
    ("Running", "running_kw", "kW"),
    ("Apparent", "running_kva", "kVA"),
    ("Largest start", "start_kva", "kVA"),
    ("Worst step", "worst_step", ""),
)

HOLDS: Final = SafeString("holds")
WARNS: Final = SafeString('<span class="badge badge-warn">warns</span>')
FAILS: Final = SafeString('<span class="badge badge-stop">fails</span>')
A_CHECK: Final = (
    '<tr><th scope="row">{}</th><td class="num">{}</td><td class="num">{}</td><td>{}</td>'
    '<td class="small quiet">{}</td></tr>'
)
AN_ACCESSORY: Final = '<span title="{}">{}{}</span>'
AN_OPTION: Final = '<option value="{}">{}</option>'
A_WAY: Final = "<li><strong>{}</strong> {}</li>"


@dataclass(frozen=True, slots=True)
class SizingPane:
    """The sizing that counts; what is ready for the page has a name of the page's part."""

    run: SizingRun
    sets: str
    why: str
    numbers: tuple[tuple[str, str], ...]
    checks: tuple[Mapping[str, Any], ...]
    failing: tuple[str, ...]
    accessories: tuple[Mapping[str, Any], ...]
    alternatives: tuple[tuple[str, str], ...]
    choice: Choice

    @property
    def figures(self) -> SafeString:
        return filled_each(A_FACT, self.numbers)

    @property
    def check_rows(self) -> SafeString:
        return filled_each(A_CHECK, map(_check_line, self.checks))

    @property
    def accessories_named(self) -> SafeString:
        return filled_each(AN_ACCESSORY, map(_accessory, self.accessories), ", ")

    @property
    def accessory_options(self) -> SafeString:
        named = ((item["code"], reason_title(item["code"])) for item in self.accessories)
        return filled_each(AN_OPTION, named)

    @property
    def set_options(self) -> SafeString:
        return filled_each(AN_OPTION, self.alternatives)

    @property
    def ways(self) -> SafeString:
        return filled_each(A_WAY, self.alternatives)


def sizing_pane(run: SizingRun) -> SizingPane:
    """The run that counts, ready for the page."""
    result = run.result
    chosen, demand = result.get("recommendation") or {}, result.get("demand") or {}
    numbers = [*_figures(DEMAND_FIGURES, demand), *_figures(FIGURES, chosen)]
    return SizingPane(
        run=run,
        sets=sets_written(result),
        why=str(chosen.get("why", "")),
        numbers=tuple(pair for pair in numbers if pair[1] != "–"),
        checks=tuple(chosen.get("checks", [])),
        failing=tuple(failing(result)),
        accessories=tuple(chosen.get("accessories", [])),
        alternatives=tuple(
            (sets_written({"recommendation": option}), str(option.get("why", "")))
            for option in result.get("alternatives", [])
        ),
        choice=choice_of(result),
    )


def _figures(
    wanted: Iterable[tuple[str, str, str]], document: Mapping[str, Any]
) -> Iterable[tuple[str, str]]:
    return ((name, figure(document.get(key), unit)) for name, key, unit in wanted)


def _check_line(check: Mapping[str, Any]) -> tuple[str, str, str, SafeString, str]:
    unit = "" if check["unit"] == "-" else check["unit"]
    warns = not check["passed"] and not check.get("binding", True)
    return (
        reason_title(check["name"]),
        figure(check["required"], unit),
        figure(check["provided"], unit),
        HOLDS if check["passed"] else WARNS if warns else FAILS,
        check.get("source", ""),
    )


def _accessory(item: Mapping[str, Any]) -> tuple[str, str, str]:
    quantity = item.get("quantity", 1)
    several = f"{quantity} × " if quantity > 1 else ""
    return item.get("why", ""), several, reason_title(item["code"])
