"""The reader itself, with no network and an empty home: it must bring its model along."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from intake.photos.engine import LONGEST_EDGE, PhotoUnreadable, engine_installed, photo_lines
from sizing.nameplate import read_nameplate
from tests.intake.photos.plates import PLATES, SPOILED

ROOT = Path(__file__).resolve().parents[3]
NEEDS_EXTRA = pytest.mark.skipif(
    not engine_installed(), reason="the optional extra is not installed: pip install '.[ocr]'"
)
BY_NAME = {plate.name: plate for plate in PLATES}
# Reads the photos it is given in a process in which every way to a network is refused.
CUT_OFF = """
import json, socket, sys
def refused(*_, **__):
    raise OSError("no network here")
socket.socket.connect = socket.socket.connect_ex = socket.getaddrinfo = refused
socket.create_connection = refused
from pathlib import Path
from intake.photos.engine import photo_lines
from intake.photos.suggestion import suggestion_from
print(json.dumps([suggestion_from(photo_lines(Path(p))) for p in sys.argv[1:]]))
"""


def alone() -> list[str]:
    """The words before a command that leave it without any network, where the system allows."""
    words = ["unshare", "--map-root-user", "--net"]
    if shutil.which("unshare") is None:
        return []
    return words if subprocess.run([*words, "true"], capture_output=True).returncode == 0 else []


def read_cut_off(folder: Path, photos: list[Image.Image]) -> list[dict[str, Any]]:
    """What is read from photos without network and without a home to keep models in."""
    paths = [folder / f"{n}.jpg" for n, _ in enumerate(photos)]
    for path, photo in zip(paths, photos, strict=True):
        photo.convert("RGB").save(path, "JPEG", quality=82)
    home = folder / "home"
    home.mkdir(mode=0o500)
    environment = {**os.environ, "HOME": str(home), "PYTHONPATH": str(ROOT)}
    command = [*alone(), sys.executable, "-c", CUT_OFF, *map(str, paths)]
    done = subprocess.run(
        command, capture_output=True, text=True, env=environment, cwd=folder, timeout=600
    )
    assert done.returncode == 0, done.stderr
    assert not any(home.iterdir())
    return list(json.loads(done.stdout.splitlines()[-1]))


@NEEDS_EXTRA
def test_plates_are_read_without_a_network(tmp_path: Path) -> None:
    """A layout of each sort and each way for a photo to go bad, in one process."""
    asked = [
        ("motor, labels beside", "clean"), ("motor, labels above", "tilted 8°"),
        ("motor, labels under", "tilted -12°"), ("pump, one line each", "blurred"),
        ("pump, colons", "glared"), ("lamp head, light on dark", "seen aslant"),
    ]  # fmt: skip
    photos = [SPOILED[spoiled](BY_NAME[name].picture()) for name, spoiled in asked]
    read = read_cut_off(tmp_path, photos)
    for (name, spoiled), found in zip(asked, read, strict=True):
        plate = read_nameplate(found["text"])
        stamped = BY_NAME[name].stamped
        right = [f for f, value in stamped.items() if getattr(plate, f) == value]
        wrong = [f for f in stamped if f not in right and getattr(plate, f) not in (None, (), "")]
        assert not wrong, (name, spoiled, found["text"])
        assert len(right) >= 0.7 * len(stamped), (name, spoiled, found["text"])


@NEEDS_EXTRA
def test_a_photo_without_text_gives_no_lines(tmp_path: Path) -> None:
    blank = tmp_path / "blank.jpg"
    Image.new("RGB", (640, 480), "gray").save(blank)
    assert photo_lines(blank) == []


def test_what_is_no_picture_is_unreadable(tmp_path: Path) -> None:
    broken = tmp_path / "broken.jpg"
    broken.write_bytes(b"\xff\xd8 nothing")
    for path in (broken, tmp_path / "gone.jpg"):
        with pytest.raises(PhotoUnreadable):
            photo_lines(path)


def test_a_large_photo_is_shrunk_first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    seen = []

    class Engine:
        def __call__(self, picture: Any) -> Any:
            seen.append(picture.shape)
            return type("Found", (), {"txts": None})

    monkeypatch.setattr("intake.photos.engine._engine", Engine)
    large = tmp_path / "large.jpg"
    Image.new("RGB", (4000, 3000)).save(large)
    photo_lines(large)
    assert max(seen[0]) == LONGEST_EDGE


def test_nothing_of_the_extra_is_loaded_by_pages() -> None:
    code = "import intake.photos.engine, intake.photos.suggestion, sys; " \
           "print({'rapidocr', 'onnxruntime', 'cv2'} & set(sys.modules))"  # fmt: skip
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, cwd=ROOT, check=True
    )
    assert done.stdout.strip() == "set()"
