"""Make a photo anew: upright, shrunk, without location or any other data beside the picture.

Run as a program of its own, with little memory and time, so that a picture made to harm harms
nothing else: ``python reencode.py INPUT OUTPUT``. It prints ``width height``, or the code of what
is wrong with the picture and exits with 3.
"""

from __future__ import annotations

import sys
import warnings
from pathlib import Path
from typing import Any

FORMATS = ("JPEG", "PNG", "WEBP", "HEIF")
MOST_PIXELS = 40_000_000
LONGEST_EDGE = 2000
QUALITY = 82
MEMORY_BYTES = 1_500_000_000
CPU_SECONDS = 20
REFUSED = 3
NO_ROOM = "no_room"


class PhotoUnfit(Exception):
    """The picture cannot be taken; the message is a code."""


def limit_means() -> None:
    """Give this process little memory and time."""
    import resource

    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_CPU, (CPU_SECONDS, CPU_SECONDS))


def reencoded(source: Path, target: Path) -> tuple[int, int]:
    """Write the photo anew as JPEG; returns its width and height in pixels.

    The size is read from the head of the file before any pixel is.
    """
    from pi_heif import register_heif_opener
    from PIL import Image, ImageOps, UnidentifiedImageError

    register_heif_opener()
    warnings.simplefilter("error", Image.DecompressionBombWarning)
    try:
        with Image.open(source, formats=FORMATS) as head:
            _refuse_too_large(head.size)
            head.verify()
        with Image.open(source, formats=FORMATS) as photo:
            photo.draft("RGB", (LONGEST_EDGE, LONGEST_EDGE))
            upright = ImageOps.exif_transpose(photo)
            upright.thumbnail((LONGEST_EDGE, LONGEST_EDGE))
            picture = _without_transparency(upright)
    except PhotoUnfit:
        raise
    except UnidentifiedImageError:
        raise PhotoUnfit("not_a_photo") from None
    except (Image.DecompressionBombError, Image.DecompressionBombWarning, MemoryError):
        raise PhotoUnfit("too_many_pixels") from None
    except Exception:
        raise PhotoUnfit("damaged") from None
    try:
        picture.save(target, "JPEG", quality=QUALITY, optimize=True)
    except OSError:  # the picture is whole: what is wrong is the place it goes to
        raise PhotoUnfit(NO_ROOM) from None
    width_px, height_px = picture.size
    return width_px, height_px


def _refuse_too_large(size: tuple[int, int]) -> None:
    if size[0] * size[1] > MOST_PIXELS:
        raise PhotoUnfit("too_many_pixels")


def _without_transparency(photo: Any) -> Any:
    """The picture on white, in plain colors; a fresh one, so that nothing else comes along."""
    from PIL import Image

    ground = Image.new("RGB", photo.size, "white")
    clear = photo.convert("RGBA") if photo.has_transparency_data else None
    ground.paste(photo.convert("RGB"), mask=clear.getchannel("A") if clear else None)
    return ground


def main(arguments: list[str]) -> int:
    """Run as a program."""
    limit_means()
    try:
        width_px, height_px = reencoded(Path(arguments[0]), Path(arguments[1]))
    except PhotoUnfit as unfit:
        print(unfit)
        return REFUSED
    print(width_px, height_px)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
