"""One try: the body posted to the checked address. What the other side answers is not kept."""

from __future__ import annotations

from django.conf import settings
from urllib3 import BaseHTTPResponse, HTTPConnectionPool, HTTPSConnectionPool, Timeout
from urllib3.exceptions import HTTPError

from intake.webhooks.addresses import Target

AGENT = "Setwright-Webhooks/1"
CONNECT_S = 5


class NoAnswer(Exception):
    """There was no answer: not reached, too slow, or not the host its certificate names."""


def posted(target: Target, *, body: str, headers: dict[str, str]) -> int:
    """Post and return the status. Redirects are not followed, the answer's body is not read."""
    with _pool(target) as pool:
        try:
            answer = _posted(pool, target, body, headers)
        except (HTTPError, OSError) as error:
            raise NoAnswer(type(error).__name__) from error
        try:
            return answer.status
        finally:
            answer.close()


def _posted(
    pool: HTTPConnectionPool, target: Target, body: str, headers: dict[str, str]
) -> BaseHTTPResponse:
    sent = {
        **headers,
        "Host": _host_header(target),
        "Content-Type": "application/json",
        "User-Agent": AGENT,
    }
    return pool.urlopen(
        "POST", target.path, body=body.encode(), headers=sent, redirect=False, retries=False,
        preload_content=False,
    )  # fmt: skip


def _pool(target: Target) -> HTTPConnectionPool:
    """A connection to the checked address that expects the certificate of the name."""
    timeout = Timeout(connect=CONNECT_S, read=settings.SETWRIGHT_WEBHOOK_TIMEOUT_S)
    if target.scheme == "https":
        return HTTPSConnectionPool(
            target.ip, target.port, timeout=timeout, server_hostname=target.host,
            assert_hostname=target.host, cert_reqs="CERT_REQUIRED",
        )  # fmt: skip
    return HTTPConnectionPool(target.ip, target.port, timeout=timeout)


def _host_header(target: Target) -> str:
    host = f"[{target.host}]" if ":" in target.host else target.host
    usual = {"https": 443, "http": 80}[target.scheme]
    return host if target.port == usual else f"{host}:{target.port}"
