"""What a page reads of a request at once is what is kept row by row."""

from __future__ import annotations

from typing import Any

import pytest
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from intake.models import Answer, HireRequest
from intake.questions.answers import Given
from intake.requests.selectors import answers_of, given_read_once, loads_of
from intake.requests.starting import request_start

pytestmark = pytest.mark.django_db

VALUES: list[Any] = ["480Y/277", 'a "b", [c] \\ ñ\n}', "", [], ["5-20", "14-50"], None, "null"]


@pytest.fixture
def request_kept() -> HireRequest:
    request, _token = request_start(language="en", now=timezone.now(), application="dewatering")
    for n, value in enumerate(VALUES):
        Answer.objects.create(
            request=request,
            key=f"key_{n}",
            value=value,
            unsure=n % 2 == 1,
            updated_at=timezone.now(),
        )
    return request


def test_answers_read_at_once_are_those_kept(request_kept: HireRequest) -> None:
    kept = answers_of(HireRequest.objects.prefetch_related("answers").get(pk=request_kept.pk))
    given_read_once(request_kept)
    assert request_kept.kept_given == kept.by_key
    assert answers_of(request_kept) == kept
    assert kept.given("key_4") == Given(["5-20", "14-50"])


def test_rows_put_on_a_request_are_not_read_again(
    request_kept: HireRequest, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    kept = answers_of(request_kept)
    put = HireRequest.objects.prefetch_related("answers", "loads").get(pk=request_kept.pk)
    with django_assert_num_queries(0):
        assert answers_of(put) == kept
        assert [load.kind for load in loads_of(put)] == ["pump"]


def test_a_request_without_answers_has_none(request_kept: HireRequest) -> None:
    Answer.objects.all().delete()
    given_read_once(request_kept)
    assert request_kept.kept_given == {}
