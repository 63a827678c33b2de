"""``{% address "desk:answer" reference key %}``: as ``{% url %}``, for pages with many of them."""

from __future__ import annotations

from django import template

from intake.addresses import address

register = template.Library()
register.simple_tag(address, name="address")
