"""Photos from strangers: what is taken is made anew, what is refused says why."""

import io
import os
import struct
import tempfile
import time
import zlib
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from PIL import Image

from intake.models import HireRequest, RequestPhoto
from intake.photos.services import LARGEST_BYTES, MOST_PHOTOS, _reencoded_apart
from tests.disk import FULL, files_below
from tests.intake.visitor import PUMP, Visitor, soup, summary


@pytest.fixture(autouse=True)
def _media(settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = str(tmp_path)


def picture(kind: str = "JPEG", size: tuple[int, int] = (320, 240), **more: Any) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, "navy").save(out, kind, **more)
    return out.getvalue()


def located() -> bytes:
    """A photo that says where it was taken, and that it was held sideways."""
    exif = Image.Exif()
    exif[0x0112] = 6
    exif.get_ifd(0x8825)[2] = (39.0, 34.0, 12.0)
    return picture(exif=exif)


def bomb() -> bytes:
    """A few kilobytes of PNG that unfold into 13,000 x 13,000 pixels."""
    edge = 13_000
    rows = zlib.compress(b"\0" * ((edge // 8 + 1) * edge), 9)

    def chunk(kind: bytes, body: bytes) -> bytes:
        return (
            struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        )

    head = struct.pack(">IIBBBBB", edge, edge, 1, 0, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def add(customer: Visitor, content: bytes, name: str = "plate.jpg") -> Any:
    return customer.post(
        customer.load_page(),
        {**PUMP, "photo": SimpleUploadedFile(name, content), "add_photo": "1"},
    )


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "WEBP"])
def test_a_photo_is_kept_as_a_fresh_jpeg(customer: Visitor, kind: str) -> None:
    assert add(customer, picture(kind)).status_code == 302
    photo = RequestPhoto.objects.get()
    with Image.open(photo.image.path) as kept:
        assert kept.format == "JPEG"
    assert "plate" not in photo.image.name


def test_heic_is_taken(customer: Visitor) -> None:
    pi_heif = pytest.importorskip("pi_heif")
    content = Path(__file__).with_name("plate.heic").read_bytes()
    assert pi_heif.is_supported(content)
    assert add(customer, content, "plate.heic").status_code == 302


def test_location_is_gone_and_the_picture_stands_upright(customer: Visitor) -> None:
    add(customer, located())
    photo = RequestPhoto.objects.get()
    with Image.open(photo.image.path) as kept:
        assert not kept.getexif()
    assert (photo.width_px, photo.height_px) == (240, 320)


def test_the_original_of_an_upload_that_was_cut_off_does_not_stay(
    customer: Visitor, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    cut_off, at_work = tmp_path / "setwright-photo-old", tmp_path / "setwright-photo-new"
    for folder in (cut_off, at_work):
        folder.mkdir()
        (folder / "in").write_bytes(b"as it came")
    os.utime(cut_off, (time.time() - 3600,) * 2)
    add(customer, picture())
    assert [path.name for path in tmp_path.glob("setwright-photo-*")] == [at_work.name]


def test_a_large_photo_is_shrunk(customer: Visitor) -> None:
    add(customer, picture(size=(5000, 2500)))
    photo = RequestPhoto.objects.get()
    assert (photo.width_px, photo.height_px) == (2000, 1000)


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"%PDF-1.7\n1 0 obj\n", "not a photo we can read"),
        (b"", "not a photo we can read"),
        (b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>", "not a photo we can read"),
        (picture()[:600], "cannot be opened"),
        (picture("GIF"), "not a photo we can read"),
        (bomb(), "too many pixels"),
    ],
    ids=["pdf", "empty", "svg", "cut", "gif", "bomb"],
)
def test_what_is_no_photo_is_refused_in_words(customer: Visitor, content, words) -> None:
    response = add(customer, content)
    assert response.status_code == 422
    assert words in summary(response)[0]
    assert RequestPhoto.objects.count() == 0


def test_what_was_typed_survives_a_refused_photo(customer: Visitor) -> None:
    page = soup(add(customer, b"%PDF-1.7"))
    assert PUMP["nameplate"] in page.select_one("#q-nameplate").get_text()


def test_what_was_typed_survives_an_added_photo(customer: Visitor) -> None:
    add(customer, picture())
    page = customer.get(customer.load_page())
    assert PUMP["nameplate"] in page.select_one("#q-nameplate").get_text()
    assert page.select_one(".photos img")


def test_a_huge_upload_is_refused_before_it_is_read(customer: Visitor) -> None:
    path = customer.at(customer.load_page())
    response = customer.client.post(path, CONTENT_LENGTH=str(200_000_000))
    assert response.status_code == 302
    page = customer.client.get(response["Location"])
    assert summary(page) == [
        f"This file is over {LARGEST_BYTES // 1_000_000} MB. Take a smaller photo."
    ]


def test_a_form_without_its_token_is_refused(customer: Visitor) -> None:
    strict = Client(enforce_csrf_checks=True)
    strict.cookies = customer.client.cookies
    assert strict.post(customer.at(customer.load_page()), PUMP).status_code == 403


def test_a_dozen_photos_are_enough(customer: Visitor) -> None:
    request = HireRequest.objects.get(reference=customer.reference)
    load = request.loads.get()
    now = request.created_at
    RequestPhoto.objects.bulk_create(
        RequestPhoto(
            request=request, load=load, width_px=1, height_px=1, bytes_kept=1, added_at=now
        )
        for _ in range(MOST_PHOTOS)
    )
    assert "Remove one first" in summary(add(customer, picture()))[0]


def test_a_photo_is_seen_by_the_holder_of_the_link_alone(
    customer: Visitor, stranger: Visitor
) -> None:
    add(customer, picture())
    path = customer.at(f"photo/{RequestPhoto.objects.get().pk}/")
    response = customer.client.get(path)
    assert response["Content-Type"] == "image/jpeg"
    assert response["X-Content-Type-Options"] == "nosniff"
    assert response["Content-Disposition"].startswith("attachment")
    assert response["Cache-Control"] == "no-store"
    assert stranger.client.get(path).status_code == 404
    assert Client().get(path).status_code == 404


def test_a_removed_photo_leaves_no_file(
    customer: Visitor, django_capture_on_commit_callbacks: Any
) -> None:
    add(customer, picture())
    photo = RequestPhoto.objects.get()
    with django_capture_on_commit_callbacks(execute=True):
        customer.client.post(customer.at(f"photo/{photo.pk}/remove/"))
    assert not Path(photo.image.path).exists()
    assert RequestPhoto.objects.count() == 0


def test_a_full_disk_costs_the_photo_but_nothing_that_was_typed(
    customer: Visitor, settings: Any
) -> None:
    settings.STORAGES = {**settings.STORAGES, "default": FULL}
    answered = add(customer, picture())
    assert answered.status_code == 422
    assert "could not keep the photo" in summary(answered)[0]
    assert PUMP["nameplate"] in answered.content.decode()
    assert not RequestPhoto.objects.exists()
    assert not files_below(settings.MEDIA_ROOT)


def test_no_room_to_make_a_photo_anew_is_not_called_a_damaged_photo(tmp_path: Path) -> None:
    source = tmp_path / "in"
    source.write_bytes(picture())
    with pytest.raises(OSError, match="No space left"):
        _reencoded_apart(source, tmp_path / "no folder" / "out.jpg")
