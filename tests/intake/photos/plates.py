"""Plates of invented machines in the layouts that plates come in, and photos of them gone bad.

The wordings and layouts are common practice on motor, pump, lamp, air conditioner, panel and
transformer plates (how = memory); every machine on them is invented.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from PIL import Image, ImageChops, ImageDraw, ImageFilter, ImageFont

WIDTH, HEIGHT = 1200, 800
METAL, INK, TABLE_TOP = (196, 199, 200), (28, 30, 33), (96, 84, 70)


@dataclass(frozen=True)
class Plate:
    """One drawn plate and what is stamped on it, in the fields of a nameplate."""

    name: str
    draw: Callable[[ImageDraw.ImageDraw], None]
    stamped: dict[str, Any]
    ground: tuple[int, int, int] = METAL

    def picture(self) -> Image.Image:
        sheet = Image.new("RGB", (WIDTH, HEIGHT), self.ground)
        pen = ImageDraw.Draw(sheet)
        pen.rectangle((14, 14, WIDTH - 15, HEIGHT - 15), outline=INK, width=4)
        self.draw(pen)
        return sheet


Pen = ImageDraw.ImageDraw
Row = tuple[str, ...]


def _font(size: int) -> Any:
    return ImageFont.load_default(size)


def _write(pen: Pen, x: float, y: float, text: str, size: int = 40, ink: Any = INK) -> None:
    pen.text((x, y), text, fill=ink, font=_font(size))


def beside(rows: list[tuple[Row, ...]], title: str, size: int = 42) -> Callable[[Pen], None]:
    """Labels with their values to the right of them, in as many columns as a row has pairs."""

    def draw(pen: Pen) -> None:
        _write(pen, 60, 40, title, size + 8)
        for n, row in enumerate(rows):
            for m, (label, value) in enumerate(row):
                left = 60 + m * (1100 // len(row))
                _write(pen, left, 140 + 80 * n, label, size)
                _write(pen, left + (300 if len(row) < 3 else 170), 140 + 80 * n, value, size)

    return draw


def stacked(
    rows: list[tuple[Row, ...]], title: str, size: int = 44, *, under: bool = False
) -> Callable[[Pen], None]:
    """Boxes: a small label over its value, or under it."""

    def draw(pen: Pen) -> None:
        _write(pen, 60, 40, title, size + 4)
        for n, row in enumerate(rows):
            top, wide = 130 + 150 * n, 1100 // len(row)
            for m, (label, value) in enumerate(row):
                left = 50 + m * wide
                pen.rectangle((left, top, left + wide - 8, top + 132), outline=INK, width=2)
                _write(pen, left + 16, top + (92 if under else 8), label, 26)
                _write(pen, left + 16, top + (20 if under else 56), value, size)

    return draw


def written(lines: list[str], size: int = 44, ink: Any = INK) -> Callable[[Pen], None]:
    """Lines as a person would write them."""

    def draw(pen: Pen) -> None:
        for n, line in enumerate(lines):
            _write(pen, 60, 50 + int(size * 1.75) * n, line, size, ink)

    return draw


PLATES = (
    Plate(
        "motor, labels beside",
        beside([
            (("HP", "15"), ("VOLTS", "460")),
            (("RPM", "1760"), ("AMPS", "21")),
            (("PH", "3"), ("HZ", "60")),
            (("CODE", "G"), ("S.F.", "1.15")),
            (("FRAME", "254T"), ("INS CL", "F")),
            (("DUTY", "CONT"), ("SER NO", "R47-20931")),
        ], "INDUCTION MOTOR"),
        {"hp": 15.0, "volts": (460.0,), "rpm": 1760.0, "amps": (21.0,), "phases": 3, "hertz": 60.0,
         "code_letter": "G", "service_factor": 1.15},
    ),
    Plate(
        "motor, labels above",
        stacked([
            (("MODEL", "KR-2204"), ("SERIAL NO", "118 5502")),
            (("HP", "7.5"), ("VOLTS", "208-230/460"), ("AMPS", "22-20/10")),
            (("PHASE", "3"), ("HZ", "60"), ("RPM", "1755"), ("CODE", "H")),
            (("SERVICE FACTOR", "1.15"), ("NOM EFF", "91.0"), ("P.F.", "82")),
        ], "THREE PHASE MOTOR"),
        {"hp": 7.5, "volts": (208.0, 230.0, 460.0), "amps": (22.0, 20.0, 10.0), "phases": 3,
         "hertz": 60.0, "rpm": 1755.0, "code_letter": "H", "service_factor": 1.15,
         "efficiency": 0.91, "power_factor": 0.82},
    ),
    Plate(
        "motor, labels under",
        stacked([
            (("H.P.", "25"), ("VOLTS", "230/460"), ("AMPERES", "62/31")),
            (("PH", "3"), ("CYCLES", "60"), ("R.P.M.", "1770")),
            (("CODE", "G"), ("SERV. FACTOR", "1.15"), ("FRAME", "284T")),
        ], "SQUIRREL CAGE MOTOR", under=True),
        {"hp": 25.0, "volts": (230.0, 460.0), "amps": (62.0, 31.0), "phases": 3, "hertz": 60.0,
         "rpm": 1770.0, "code_letter": "G", "service_factor": 1.15},
    ),
    Plate(
        "pump, one line each",
        written(["SUBMERSIBLE PUMP", "MODEL DW-310", "10 HP  460 V  3 PH  60 HZ", "FLA 14.0",
                 "LRA 82", "380 GPM  95 FT HEAD", "SERIAL 77-10442"]),
        {"hp": 10.0, "volts": (460.0,), "phases": 3, "hertz": 60.0, "amps": (14.0,),
         "locked_rotor_amps": 82.0},
    ),
    Plate(
        "pump, colons",
        written(["HP: 5", "VOLTS: 230", "PHASE: 1", "HZ: 60", "FULL LOAD AMPS: 28",
                 "KVA CODE: F", "RPM: 3450", "MAX AMB: 40 C"]),
        {"hp": 5.0, "volts": (230.0,), "phases": 1, "hertz": 60.0, "amps": (28.0,),
         "code_letter": "F", "rpm": 3450.0},
    ),
    Plate(
        "lamp head, light on dark",
        written(["LIGHT TOWER HEAD", "METAL HALIDE", "1000 W", "480 V  60 HZ  1 PH",
                 "2.4 A", "TYPE 4X"], 56, (235, 232, 220)),
        {"watts": 1000.0, "volts": (480.0,), "hertz": 60.0, "phases": 1, "amps": (2.4,),
         "lamp_type": "metal halide"},
        ground=(38, 46, 60),
    ),
    Plate(
        "air conditioner",
        beside([
            (("MODEL", "RT-60A"),),
            (("VOLTS", "208/230"), ("PHASE", "1")),
            (("HERTZ", "60"), ("MCA", "34.2")),
            (("MAX FUSE", "50"), ("COMP RLA", "24.4")),
            (("REFRIGERANT", "R-410A"),),
        ], "PACKAGED UNIT"),
        {"volts": (208.0, 230.0), "phases": 1, "hertz": 60.0, "min_circuit_amps": 34.2,
         "max_overcurrent_amps": 50.0},
    ),
    Plate(
        "panel of a trailer",
        written(["OFFICE TRAILER", "MAIN PANEL 100 A", "120/240 V  1 PH  3 W  60 HZ",
                 "22 KAIC", "CAT NO LP-24100"], 52),
        {"amps": (100.0,), "system": "120/240", "phases": 1, "hertz": 60.0},
    ),
    Plate(
        "heater",
        beside([
            (("WATTS", "5000"),), (("VOLTS", "240"),), (("PHASE", "1"),), (("AMPS", "20.8"),),
            (("SERIAL", "HB 20177"),),
        ], "UNIT HEATER", 50),
        {"watts": 5000.0, "volts": (240.0,), "phases": 1, "amps": (20.8,)},
    ),
    Plate(
        "transformer",
        beside([
            (("KVA", "45"), ("PHASE", "3")),
            (("HZ", "60"), ("IMP", "4.1 %")),
            (("PRI VOLTS", "480"), ("SEC VOLTS", "208Y/120")),
            (("TEMP RISE", "150 C"), ("WT LBS", "410")),
        ], "DRY TYPE TRANSFORMER"),
        {"kva": 45.0, "phases": 3, "hertz": 60.0, "volts": (480.0,), "secondary": "208Y/120"},
    ),
    Plate(
        "motor of another country",
        stacked([
            (("kW", "11"), ("V", "400"), ("A", "21.5")),
            (("Hz", "50"), ("r/min", "1465"), ("cos φ", "0.84")),
            (("IP", "55"), ("INS CL", "F"), ("DUTY", "S1")),
        ], "3~ MOT. 160M"),
        {"shaft_kw": 11.0, "volts": (400.0,), "amps": (21.5,), "phases": 3, "hertz": 50.0,
         "rpm": 1465.0, "power_factor": 0.84},
    ),
    Plate(
        "compressor, narrow table",
        beside([
            (("HP", "20"), ("V", "230/460"), ("PH", "3")),
            (("HZ", "60"), ("A", "50/25"), ("SF", "1.15")),
            (("RPM", "3525"), ("LRA", "290/145"), ("ENCL", "TEFC")),
        ], "AIR COMPRESSOR", 38),
        {"hp": 20.0, "volts": (230.0, 460.0), "phases": 3, "hertz": 60.0, "amps": (50.0, 25.0),
         "service_factor": 1.15, "rpm": 3525.0, "locked_rotor_amps": 290.0},
    ),
    Plate(
        "welder",
        written(["ARC WELDER", "INPUT 460 V  3 PH  60 HZ", "INPUT 28 A", "SER NO 4471-903"], 58),
        {"volts": (460.0,), "phases": 3, "hertz": 60.0, "amps": (28.0,)},
    ),
    Plate(
        "small print",
        beside([
            (("HP", "40"), ("VOLTS", "460")), (("FLA", "48.5"), ("RPM", "1775")),
            (("PH", "3"), ("HZ", "60")), (("CODE", "G"), ("DESIGN", "B")),
            (("NEMA NOM EFF", "94.1"), ("SERVICE FACTOR", "1.15")),
        ], "PREMIUM EFFICIENCY MOTOR", 24),
        {"hp": 40.0, "volts": (460.0,), "amps": (48.5,), "rpm": 1775.0, "phases": 3, "hertz": 60.0,
         "code_letter": "G", "design_letter": "B", "efficiency": 0.941, "service_factor": 1.15},
    ),
    Plate(
        "fan, values before units",
        written(["ROOF FAN", "3/4 HP", "115 VOLTS", "1 PHASE", "60 HERTZ", "9.8 AMPS", "1725 RPM"],
                48),
        {"hp": 0.75, "volts": (115.0,), "phases": 1, "hertz": 60.0, "amps": (9.8,), "rpm": 1725.0},
    ),
)  # fmt: skip


def _on_a_table(photo: Image.Image) -> Image.Image:
    ground = Image.new("RGB", (WIDTH + 400, HEIGHT + 400), TABLE_TOP)
    ground.paste(photo, (200, 200))
    return ground


def tilted(degrees: float) -> Callable[[Image.Image], Image.Image]:
    def turn(photo: Image.Image) -> Image.Image:
        return _on_a_table(photo).rotate(
            degrees, resample=Image.Resampling.BICUBIC, fillcolor=TABLE_TOP
        )

    return turn


def blurred(photo: Image.Image) -> Image.Image:
    return photo.filter(ImageFilter.GaussianBlur(4))


def shaken(photo: Image.Image) -> Image.Image:
    """A hand that moved: eleven pixels sideways."""
    frames = [ImageChops.offset(photo, n, 0) for n in range(0, 12, 2)]
    mean = frames[0]
    for n, frame in enumerate(frames[1:], 2):
        mean = Image.blend(mean, frame, 1 / n)
    return mean


def glared(photo: Image.Image) -> Image.Image:
    """The sun in the middle of the plate."""
    sun = Image.new("L", photo.size, 0)
    pen = ImageDraw.Draw(sun)
    pen.ellipse((380, 150, 980, 560), fill=215)
    sun = sun.filter(ImageFilter.GaussianBlur(90))
    return Image.composite(Image.new("RGB", photo.size, "white"), photo, sun)


def faded(photo: Image.Image) -> Image.Image:
    """Low contrast with noise, as at dusk."""
    dim = photo.point([int(70 + 0.3 * v) for v in range(256)] * 3)
    noise = Image.effect_noise(photo.size, 40).convert("RGB")
    return Image.blend(dim, noise, 0.18)


def dirty(photo: Image.Image) -> Image.Image:
    """Splashes of mud and a scratch, always the same."""
    spoiled, chance = photo.copy(), random.Random(7)
    pen = ImageDraw.Draw(spoiled)
    for _ in range(140):
        x, y, r = chance.randrange(WIDTH), chance.randrange(HEIGHT), chance.randrange(2, 9)
        pen.ellipse((x - r, y - r, x + r, y + r), fill=(92, 76, 58))
    pen.line((0, 610, WIDTH, 180), fill=(150, 150, 150), width=3)
    return spoiled


def aslant(photo: Image.Image) -> Image.Image:
    """Seen from the side: the far edge is a fifth shorter."""
    wide = _on_a_table(photo)
    w, h = wide.size
    return wide.transform(
        (w, h), Image.Transform.QUAD, (0, 0, 0, h, w, h * 0.85, w, h * 0.15),
        resample=Image.Resampling.BICUBIC,
    )  # fmt: skip


def far(photo: Image.Image) -> Image.Image:
    """Taken from too far away."""
    return photo.resize((480, 320), Image.Resampling.LANCZOS)


SPOILED: dict[str, Callable[[Image.Image], Image.Image]] = {
    "clean": lambda photo: photo,
    "tilted 8°": tilted(8),
    "tilted -12°": tilted(-12),
    "seen aslant": aslant,
    "blurred": blurred,
    "shaken": shaken,
    "glared": glared,
    "faded, noisy": faded,
    "dirty": dirty,
    "far away": far,
}
