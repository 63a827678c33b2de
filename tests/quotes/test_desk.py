"""Quotes at the desk."""

from __future__ import annotations

from decimal import Decimal

import pytest
import time_machine
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from intake.models import Event, Status
from quotes.demo.people import people_load
from quotes.desk.errors import AdjustmentTooLarge
from quotes.desk.selectors import PAGE, quotes_page
from quotes.desk.services import quote_adjust
from quotes.models import Quote, QuoteState
from tests.quotes.cast import NOW, deliver_all, quoted

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _frozen() -> object:
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def rep(company: None) -> User:
    people_load()
    return User.objects.get(username="rep")


def test_a_rep_lowers_a_price_within_the_limit_and_says_why(rep: User, client: Client) -> None:
    quote = quoted()
    client.force_login(rep)
    address = reverse("quotes:desk_quote", args=[quote.request.reference])
    client.post(address, {"amount": "-50.00", "reason": "Second hire this month."})
    deliver_all()
    newest = Quote.objects.get(request=quote.request, revision=2)
    line = newest.lines.get(kind="adjustment")
    assert (line.amount, line.why) == (Decimal("-50.00"), "Second hire this month.")
    assert newest.net == quote.net - 50
    assert newest.reason == "Second hire this month."
    kept = Event.objects.get(kind="quote_adjusted")
    assert (kept.actor, kept.data["amount"]) == (rep, "-50.00")


def test_beyond_the_limit_a_manager_decides(rep: User) -> None:
    quote = quoted()
    much = -quote.net / 2
    with pytest.raises(AdjustmentTooLarge, match="a manager decides"):
        quote_adjust(quote_id=quote.pk, amount=much, reason="Much.", actor=rep, now=NOW)
    quote.request.refresh_from_db()
    assert quote.request.status == Status.QUOTED
    manager = User.objects.get(username="manager")
    quote_adjust(quote_id=quote.pk, amount=much, reason="Much.", actor=manager, now=NOW)
    quote.request.refresh_from_db()
    assert quote.request.status == Status.PRICING


def test_a_wrong_amount_keeps_what_was_typed(rep: User, client: Client) -> None:
    quote = quoted()
    client.force_login(rep)
    address = reverse("quotes:desk_quote", args=[quote.request.reference])
    answer = client.post(address, {"amount": "fifty", "reason": "Good customer."})
    assert answer.status_code == 422
    assert "Good customer." in answer.content.decode()
    quote.refresh_from_db()
    assert quote.state == QuoteState.OFFERED


def test_a_viewer_reads_but_does_not_change(rep: User, client: Client) -> None:
    quote = quoted()
    client.force_login(User.objects.get(username="viewer"))
    address = reverse("quotes:desk_quote", args=[quote.request.reference])
    assert client.get(address).status_code == 200
    assert client.post(address, {"amount": "-1", "reason": "x"}).status_code == 422
    assert not Event.objects.filter(kind="quote_adjusted").exists()


def test_a_rep_of_another_branch_sees_nothing(rep: User, client: Client) -> None:
    quote = quoted()
    assert quote.branch is not None
    rep.staff_profile.all_branches = False  # type: ignore[attr-defined]
    rep.staff_profile.branch_codes = ["ELSEWHERE"]  # type: ignore[attr-defined]
    rep.staff_profile.save()  # type: ignore[attr-defined]
    client.force_login(rep)
    for name, more in (("desk_quote", []), ("desk_document", [1])):
        address = reverse(f"quotes:{name}", args=[quote.request.reference, *more])
        assert client.get(address).status_code == 404


@pytest.mark.parametrize(("name", "args"), [("desk_list", []), ("desk_quote", ["X"])])
def test_a_stranger_is_sent_to_sign_in(
    company: None, client: Client, name: str, args: list[str]
) -> None:
    answer = client.get(reverse(f"quotes:{name}", args=args))
    assert answer.status_code == 302
    assert reverse("login") in answer.headers["Location"]


def test_the_list_goes_on_by_key_and_asks_one_question(
    rep: User, django_assert_num_queries: object
) -> None:
    quote = quoted()
    Quote.objects.bulk_create(
        Quote(
            request=quote.request,
            revision=number,
            message_id=f"00000000-0000-0000-0000-{number:012d}",
            run=quote.run,
            state=QuoteState.SUPERSEDED,
            created_at=NOW,
        )
        for number in range(2, PAGE + 4)
    )
    rep.staff_profile  # noqa: B018 - read before counting
    with django_assert_num_queries(1):  # type: ignore[operator]
        first = quotes_page(user=rep)
    second = quotes_page(user=rep, after=first.after)
    assert (len(first.rows), len(second.rows), second.after) == (PAGE, 3, 0)
    assert not {row.pk for row in first.rows} & {row.pk for row in second.rows}
