"""The QR code: read again by a reader, and module by module as a second library draws it."""

import re

import numpy as np
import pytest
import qrcode  # a reference library: ISO/IEC 18004 in Python
import zxingcpp
from qrcode.constants import ERROR_CORRECT_M

from intake.qr_code import SCALE, qr_svg

CONTENTS = (
    "https://hire.example.com/r/QHT2-VJ25-8c1f0d/",
    "https://hire.example.com/r/QHT2-VJ25/" + 43 * "x",
    "otpauth://totp/High%20Reach:rep?secret=JBSWY3DPEHPK3PXPJBSWY3DPEHPK3PXP&issuer=Setwright",
)


def modules(drawn: str) -> np.ndarray:
    """The dark modules of a drawing, quiet zone and all: an array of rows by columns."""
    size = int(re.search(r'width="(\d+)"', drawn)[1])  # type: ignore[index]
    dark = np.zeros((size, size), dtype=bool)
    for x, y, across, down in re.findall(r"M(\d+) (\d+)h(\d+)v(\d+)h-\d+Z", drawn):
        dark[int(y) : int(y) + int(down), int(x) : int(x) + int(across)] ^= True
    return dark[SCALE // 2 :: SCALE, SCALE // 2 :: SCALE]


def reference(content: str, mask: int) -> np.ndarray:
    code = qrcode.QRCode(error_correction=ERROR_CORRECT_M, mask_pattern=mask, border=4)
    code.add_data(content, optimize=0)
    return np.array(code.get_matrix())


@pytest.mark.parametrize("content", CONTENTS)
def test_a_reader_reads_what_was_drawn(content: str) -> None:
    light = np.where(modules(qr_svg(content)), 0, 255).astype(np.uint8)
    read = zxingcpp.read_barcode(np.kron(light, np.ones((4, 4), dtype=np.uint8)))
    assert read is not None
    assert (read.text, read.ec_level) == (content, "M")


@pytest.mark.parametrize("content", ["https://hire.example.com/r/fghjk", "80424", "HIRE 60 KW"])
def test_every_module_and_the_quiet_zone_are_those_of_the_reference(content: str) -> None:
    """Contents of one mode, as mixed ones may be cut into segments in more than one way; and one
    of the eight masks, as makers weigh the patterns that the standard penalises differently."""
    drawn = modules(qr_svg(content))
    assert sum(np.array_equal(drawn, reference(content, mask)) for mask in range(8)) == 1


def test_the_drawing_can_stand_in_a_page() -> None:
    drawn = qr_svg(CONTENTS[0])
    assert drawn.startswith("<svg ")
    assert drawn.rstrip().endswith("</svg>")
    assert "style=" not in drawn  # the page's policy allows no style of an element
