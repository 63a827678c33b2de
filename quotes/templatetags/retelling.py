"""A stored English word or sentence in the language of the page: ``{{ set.name|retold }}``."""

from __future__ import annotations

from django import template

from quotes.documents.retold import retold

register = template.Library()
register.filter("retold", retold)
