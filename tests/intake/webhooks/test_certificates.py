"""Whom a webhook believes: the host its address names, by a certificate somebody trusted signed.

RFC 9110, 4.3.4: the client checks that the certificate is one for the name of the address.
"""

from __future__ import annotations

import ssl
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import trustme
from django.contrib.auth.models import User

from intake.models import WebhookDelivery
from intake.webhooks import addresses
from intake.webhooks.endpoints import endpoint_make
from tests.intake.desk.cast import NOW
from tests.intake.webhooks.conftest import Receiver, received
from tests.intake.webhooks.test_sending import tell, work

NAMED = "hooks.example.com"


@pytest.fixture(scope="module")
def authority() -> trustme.CA:
    return trustme.CA()


@pytest.fixture
def trusted(authority: trustme.CA, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """This machine trusts the authority, and the name leads to it."""
    authority.cert_pem.write_to_path(tmp_path / "ca.pem")
    monkeypatch.setenv("SSL_CERT_FILE", str(tmp_path / "ca.pem"))
    here = addresses.ip_address("127.0.0.1")
    monkeypatch.setattr(addresses, "_looked_up", lambda host, port: [here])


def serving(certificate: trustme.LeafCert) -> Iterator[Receiver]:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    certificate.configure_cert(context)
    return received(Receiver(), context)


def told(receiver: Receiver, manager: User) -> WebhookDelivery:
    """What came of telling the receiver under the name."""
    url = f"https://{NAMED}:{receiver.port}/hooks"
    endpoint_make(name="board", url=url, kinds=["case.opened"], actor=manager, now=NOW)
    tell()
    work()
    return WebhookDelivery.objects.get()


def test_the_host_that_its_certificate_names_is_told(
    authority: trustme.CA, trusted: None, manager: User
) -> None:
    for receiver in serving(authority.issue_cert(NAMED)):
        assert told(receiver, manager).delivered_at is not None
        assert len(receiver.got) == 1


@pytest.mark.parametrize("shown", ["other.example.com", "*.hooks.example.com", "127.0.0.1"])
def test_another_hosts_certificate_is_refused(
    authority: trustme.CA, trusted: None, manager: User, shown: str
) -> None:
    """Nor does the number connected to count: the address names a host."""
    for receiver in serving(authority.issue_cert(shown)):
        assert_not_told(receiver, manager)


def test_a_certificate_that_nobody_trusted_signed_is_refused(trusted: None, manager: User) -> None:
    for receiver in serving(trustme.CA().issue_cert(NAMED)):
        assert_not_told(receiver, manager)


def assert_not_told(receiver: Any, manager: User) -> None:
    delivery = told(receiver, manager)
    assert receiver.got == []
    assert delivery.delivered_at is None
    assert delivery.next_at is not None
    assert delivery.last_error == "No answer (SSLError)."
