"""A worker's application in which pricing takes its time, so that a kill falls into a build."""

from __future__ import annotations

import time
from datetime import datetime

import django
from django.apps import apps

from config.celery import app

if not apps.ready:
    django.setup()

from quotes.building.steps import STEPS, Write
from quotes.models import Quote

__all__ = ["app"]
SECONDS = 1.5
price = STEPS["price"]


def slow_price(quote: Quote, now: datetime) -> Write:
    write = price(quote, now)
    time.sleep(SECONDS)
    return write


STEPS["price"] = slow_price
