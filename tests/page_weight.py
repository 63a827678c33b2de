"""What a page costs over the wire: itself, and every file it names, as they are sent."""

from __future__ import annotations

import re

from django.contrib.staticfiles import finders
from django.http import HttpResponse
from whitenoise.compress import Compressor

MOST_BYTES = 120_000
_STATIC = re.compile(r'(?:href|src)="/static/([^"]+)"')


def files_of(response: HttpResponse) -> list[str]:
    """The style sheets, scripts and drawings that a page names."""
    return _STATIC.findall(response.content.decode())


def weight(response: HttpResponse) -> int:
    """Bytes of a page, which Django sends as it is, and of its files, which WhiteNoise packs."""
    return len(response.content) + sum(packed(name) for name in files_of(response))


def packed(name: str) -> int:
    found = finders.find(name)
    assert found, name
    with open(str(found), "rb") as file:
        return len(Compressor.compress_gzip(file.read()))
