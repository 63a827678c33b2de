"""A QR code as a drawing, for paper and for pages."""

from __future__ import annotations

import zxingcpp

SCALE = 4


def qr_svg(content: str) -> str:
    """Draw a QR code (ISO/IEC 18004), error level M, with its quiet zone of four modules.

    Returns an ``svg`` element, black on white, four user units a module.
    """
    code = zxingcpp.create_barcode(content, zxingcpp.BarcodeFormat.QRCode, ec_level="M")
    drawn: str = code.to_svg(scale=SCALE, add_quiet_zones=True)
    return drawn[drawn.index("<svg") :]
