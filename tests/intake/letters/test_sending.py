"""Letters to the customer: in their language, with a link that works, and not too many."""

from datetime import timedelta

import pytest
from django.core import mail
from django.test import Client
from django.utils import timezone

from intake.letters.sending import letter_send
from intake.models import HireRequest, OutboxMessage
from intake.requests.mailing import LETTERS_AN_HOUR, link_mail
from tests.intake.visitor import Visitor


def send(customer: Visitor, letter: str, address: str = "ann@example.com") -> bool:
    request = HireRequest.objects.get(reference=customer.reference)
    return letter_send(
        request_id=request.pk,
        letter=letter,
        address=address,
        message_id="0123",
        now=timezone.now(),
    )


def test_the_link_in_a_letter_opens_the_request(customer: Visitor) -> None:
    assert send(customer, "link")
    (letter,) = mail.outbox
    assert customer.reference in letter.subject
    path = next(line for line in letter.body.split() if "/r/" in line).partition("/r/")[2]
    assert Client().get(f"/r/{path}").status_code == 302
    assert letter.extra_headers["Message-ID"] == "<0123@setwright>"


def test_a_letter_is_written_in_the_language_of_the_request(customer: Visitor) -> None:
    HireRequest.objects.update(language="es")
    send(customer, "link")
    assert mail.outbox[0].subject.startswith("Su enlace a la solicitud")


def test_without_an_address_no_letter_leaves(customer: Visitor) -> None:
    assert not send(customer, "link", address="")
    assert mail.outbox == []


def test_the_letter_of_a_request_with_a_rep_says_by_when(demo_fleet: None, db: None) -> None:
    customer = Visitor()
    customer.fill(voltage={"supply": "unsure"})
    customer.send()
    send(customer, "in_review")
    assert "answers you by" in mail.outbox[0].body


def test_an_unknown_letter_is_a_defect(customer: Visitor) -> None:
    with pytest.raises(KeyError):
        send(customer, "love")


def test_nobody_is_flooded_with_links(customer: Visitor) -> None:
    request = HireRequest.objects.get(reference=customer.reference)
    now = timezone.now()
    sent = [
        link_mail(request=request, address="ann@example.com", now=now)
        for _ in range(LETTERS_AN_HOUR + 2)
    ]
    assert sent.count(True) == LETTERS_AN_HOUR
    assert OutboxMessage.objects.count() == LETTERS_AN_HOUR
    later = now + timedelta(hours=1, seconds=1)
    assert link_mail(request=request, address="ann@example.com", now=later)


def test_the_page_of_the_link_mails_it_and_says_so(customer: Visitor) -> None:
    response = customer.post("link/", {"email": "ann@example.com"})
    assert "on its way to ann@example.com" in response.content.decode()
    assert OutboxMessage.objects.get().payload["address"] == "ann@example.com"


def test_a_request_is_sent_in_the_language_it_was_last_read_in(demo_fleet: None, db: None) -> None:
    customer = Visitor()
    customer.fill()
    customer.client.post("/language/", {"language": "es", "next": "/"})
    customer.send()
    assert HireRequest.objects.get(reference=customer.reference).language == "es"
