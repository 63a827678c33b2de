"""Parts of pages that are drawn once a process: nothing of a visitor may get into them."""

from __future__ import annotations

import pytest
from django.template import Context, Template, TemplateSyntaxError
from django.utils.translation import override

PART = '{% load i18n constant %}{% constant %}{% translate "Not sure" %}{% endconstant %}'


def test_each_language_has_its_own() -> None:
    part = Template(PART)
    for _ in range(2):
        with override("en"):
            assert part.render(Context()) == "Not sure"
        with override("es"):
            assert part.render(Context()) == "No sé"


def test_a_variable_inside_is_refused() -> None:
    with pytest.raises(TemplateSyntaxError, match="a variable inside"):
        Template("{% load constant %}{% constant %}{{ name }}{% endconstant %}")


def test_a_tag_inside_sees_nothing_of_the_page() -> None:
    part = Template(
        "{% load constant %}{% constant %}<b>{% if user %}x{% endif %}</b>{% endconstant %}"
    )
    assert part.render(Context({"user": "somebody"})) == "<b></b>"
