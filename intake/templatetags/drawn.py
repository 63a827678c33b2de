"""``{% drawn "intake/desk/seen.html" as seen %}``: a part that a page shows several times.

It is drawn once, where the tag stands and with what is known there, and ``{{ seen }}`` shows it.
"""

from __future__ import annotations

from django import template
from django.utils.safestring import SafeString

register = template.Library()


@register.simple_tag(takes_context=True)
def drawn(context: template.Context, name: str) -> SafeString:
    assert context.template is not None
    return context.template.engine.get_template(name).render(context)
