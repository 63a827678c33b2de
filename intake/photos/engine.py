"""Lines of text in a photo, by a model that comes with the optional extra and needs no network.

Nothing of the extra is imported before the first photo is read: pages never carry its weight.
"""

from __future__ import annotations

import importlib.util
import os
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from PIL import Image

LONGEST_EDGE = 1600  # smaller loses letters, larger takes memory: a 12 MP photo asks for 900 MB
MOST_LINES = 120
LONGEST_LINE = 200
_NEEDS = ("rapidocr", "onnxruntime")


@dataclass(frozen=True, slots=True)
class Line:
    """One line as it was read: its four corners go clockwise from where the text begins."""

    text: str
    confidence: float
    corners: tuple[tuple[float, float], ...]


class PhotoUnreadable(Exception):
    """The file is gone or no picture any more; reading it again would not help."""


def engine_installed() -> bool:
    """Whether the optional extra is there; looks for it without loading it."""
    return all(importlib.util.find_spec(name) for name in _NEEDS)


def photo_lines(path: Path) -> list[Line]:
    """Every line of text found in a photo, at most `MOST_LINES`.

    Raises
    ------
    PhotoUnreadable
        The file is gone, or no picture any more.
    """
    try:
        picture = _shrunk(path)
    except (OSError, Image.DecompressionBombError) as trouble:
        raise PhotoUnreadable(str(trouble)) from trouble
    found = _engine()(picture)
    if found.txts is None:  # a picture without text
        return []
    return _lines(found.boxes, found.txts, found.scores)


def _shrunk(path: Path) -> Any:
    """The picture as rows of blue, green and red, no edge longer than the engine needs."""
    import numpy

    with Image.open(path) as photo:
        photo.draft("RGB", (LONGEST_EDGE, LONGEST_EDGE))
        photo.thumbnail((LONGEST_EDGE, LONGEST_EDGE))
        return numpy.asarray(photo.convert("RGB"))[:, :, ::-1].copy()


def _lines(boxes: Any, texts: Sequence[str], scores: Sequence[float]) -> list[Line]:
    return [
        Line(
            text.strip()[:LONGEST_LINE],
            round(float(score), 3),
            tuple((float(x), float(y)) for x, y in box),
        )
        for box, text, score in list(zip(boxes, texts, scores, strict=True))[:MOST_LINES]
        if text.strip()
    ]


@cache
def _engine() -> Any:
    """The engine on one thread; its model lies beside its code.

    The runtime reports to its maker and leaves an identifier in the home unless told not to before
    it is loaded; what customers send stays here.
    """
    os.environ["ORT_DISABLE_TELEMETRY"] = "1"
    import cv2
    from rapidocr import RapidOCR

    cv2.setNumThreads(1)
    return RapidOCR(
        params={
            "Global.log_level": "warning",
            "EngineConfig.onnxruntime.intra_op_num_threads": 1,
            "EngineConfig.onnxruntime.inter_op_num_threads": 1,
        }
    )
