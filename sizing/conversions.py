"""Exact definitions between metric and US customary units."""

from __future__ import annotations

FOOT_M = 0.3048
POUND_KG = 0.45359237
GALLON_L = 3.785411784
