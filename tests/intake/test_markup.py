"""Markup written in Python escapes what Django's own would."""

from __future__ import annotations

import pytest
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext_lazy

from intake.markup import NO_MARKUP, filled, filled_each

VALUES = (
    "a plain word", "<script>alert('x')</script>", '" onmouseover="x', "Tom & Jerry's", "{0} {x}",
    "", None, 7, 2.5, True, mark_safe("<b>markup & more</b>"), NO_MARKUP,
    gettext_lazy("not <sure>"),
)  # fmt: skip


@pytest.mark.parametrize("value", VALUES)
def test_a_value_comes_out_as_from_django(value: object) -> None:
    for pattern in ("<p>{}</p>", '<a href="{}">x</a>'):
        assert filled(pattern, value) == format_html(pattern, value)
    named = '<a id="{key}">{key}</a>'
    assert filled(named, key=value) == format_html(named, key=value)


def test_rows_are_joined_as_by_django() -> None:
    rows = [(one, two) for one in VALUES for two in VALUES]
    found = filled_each("<li>{} {}</li>", rows, ", ")
    assert found == format_html_join(", ", "<li>{} {}</li>", rows)
    assert isinstance(found, SafeString)
    assert filled_each("<li>{}</li>", []) == NO_MARKUP
