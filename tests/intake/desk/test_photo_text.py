"""What was read from a customer's photo, beside the photo, marked as confirmed by nobody."""

from __future__ import annotations

from django.test import Client

from intake.models import Case, RequestPhoto


def test_the_rep_sees_what_was_read_and_that_nobody_confirmed_it(
    case: Case, as_rep: Client
) -> None:
    load = case.request.loads.first()
    RequestPhoto.objects.create(
        request=case.request, load=load, image="photos/none.jpg", width_px=9, height_px=9,
        bytes_kept=9, added_at=case.opened_at, suggestion={"state": "read", "text": "9 hp 230 V"},
    )  # fmt: skip
    page = as_rep.get(f"/desk/case/{case.request.reference}/").content.decode()
    assert "Read by machine from photo 1, not confirmed" in page
    assert "9 hp 230 V" in page
