"""Rows of a quote's tables: a quote has dozens, and a template draws them node by node."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Final

from django import template
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from intake.markup import NO_MARKUP, filled, filled_each

register = template.Library()
Row = Mapping[str, Any]

LINE: Final = (
    '<tr><th scope="row">{label}{why}'
    '<span class="line-why quote-narrow">{quantity} × {unit_price}</span></th>'
    '<td class="num quote-wide">{quantity}</td><td class="num quote-wide">{unit_price}</td>'
    '<td class="num">{amount}</td></tr>'
)
WHY: Final = '<span class="line-why">{}</span>'
CHECK: Final = (
    '<tr><th scope="row">{label}<span class="line-why quote-narrow">{figures}</span></th>'
    '<td class="num quote-wide">{required}</td><td class="num quote-wide">{provided}</td>'
    "<td>{verdict}</td></tr>"
)
STEP: Final = (
    '<tr><th scope="row">{label}</th><td>{working}<span class="line-why">{reason}</span></td>'
    '<td class="num">{amount}</td></tr>'
)
OPTION: Final = (
    '<label class="choice"><input type="radio" name="option" value="{index}"{checked}>'
    '<span class="option-words"><span class="choice-title">{named}</span>'
    '<span class="choice-hint">{why}</span><span class="choice-hint">{figures}</span></span>'
    '<span class="option-price">${total}</span></label>'
)
CHECKED: Final = SafeString(" checked")


@register.filter
def line_rows(lines: Iterable[Row]) -> SafeString:
    """The lines of the price."""
    return _joined(
        filled(
            LINE,
            label=line["label"],
            why=filled(WHY, line["why"]) if line.get("why") else NO_MARKUP,
            quantity=line["quantity"],
            unit_price=line["unit_price"],
            amount=line["amount"],
        )
        for line in lines
    )


@register.filter
def check_rows(checks: Iterable[Row]) -> SafeString:
    """The checks of the set; one that did not pass and does not bind is told of below."""
    passed, below = filled("{}", _("passed")), filled("<strong>{}</strong>", _("see below"))
    failed = filled("<strong>{}</strong>", _("not passed"))
    return _joined(
        filled(
            CHECK,
            label=check["label"],
            figures=check["figures"],
            required=check["required"],
            provided=check["provided"],
            verdict=passed if check["passed"] else failed if check["binding"] else below,
        )
        for check in checks
    )


@register.filter
def step_rows(steps: Iterable[Row]) -> SafeString:
    """The working of the price."""
    names = ("label", "working", "reason", "amount")
    return _joined(filled(STEP, **{name: step[name] for name in names}) for step in steps)


@register.filter
def option_rows(options: Iterable[Row]) -> SafeString:
    """The sets to choose from, the one of this quote chosen."""
    names = ("index", "named", "why", "figures", "total")
    return _joined(
        filled(
            OPTION,
            checked=CHECKED if option["chosen"] else NO_MARKUP,
            **{name: option[name] for name in names},
        )
        for option in options
    )


@register.filter
def list_items(sentences: Iterable[str]) -> SafeString:
    """Sentences as the items of a list."""
    return filled_each("<li>{}</li>", ((one,) for one in sentences))


def _joined(rows: Iterable[SafeString]) -> SafeString:
    return SafeString("".join(rows))
