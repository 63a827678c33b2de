"""Only public addresses by https are told, whatever a name leads to."""

from __future__ import annotations

import socket
from ipaddress import ip_address
from typing import Any

import pytest

from intake.webhooks.addresses import is_public, target_of, url_checked
from intake.webhooks.errors import AddressRefused

# IANA special-purpose address registries (IPv4 and IPv6), RFC 6890, RFC 6598, RFC 6052.
INNER = [
    "10.0.0.1", "172.16.0.1", "192.168.1.1", "127.0.0.1", "127.9.9.9", "0.0.0.0", "169.254.169.254",
    "100.64.0.1", "192.0.2.1", "198.18.0.1", "224.0.0.1", "240.0.0.1", "255.255.255.255", "::1",
    "::", "fe80::1", "fc00::1", "fec0::1", "ff02::1", "::ffff:10.0.0.1", "::ffff:8.8.8.8",
    "64:ff9b::a00:1", "64:ff9b:1::1", "2002:a00:1::1", "2001:db8::1", "2001::1",
]  # fmt: skip
OUTER = ["8.8.8.8", "93.184.216.34", "2606:4700::1111", "2a00:1450:4001::1"]


@pytest.fixture(autouse=True)
def in_service(settings: Any) -> None:
    settings.SETWRIGHT_WEBHOOKS_TO_LOOPBACK = False


def named(monkeypatch: pytest.MonkeyPatch, *addresses: str) -> None:
    """A name that leads to these addresses."""
    found = [(socket.AF_INET, socket.SOCK_STREAM, 6, "", (one, 443)) for one in addresses]
    monkeypatch.setattr(socket, "getaddrinfo", lambda *_a, **_k: found)


@pytest.mark.parametrize("address", INNER)
def test_an_inner_address_is_refused_in_figures_and_behind_a_name(
    address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert not is_public(ip_address(address))
    literal = f"[{address}]" if ":" in address else address
    with pytest.raises(AddressRefused):
        url_checked(f"https://{literal}/hooks")
    named(monkeypatch, address)
    with pytest.raises(AddressRefused):
        target_of("https://hooks.example.com/")


@pytest.mark.parametrize("address", OUTER)
def test_a_public_address_is_connected_to_as_it_was_checked(
    address: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    named(monkeypatch, address)
    target = target_of("https://hooks.example.com/in?x=1")
    assert (target.ip, target.host, target.port) == (address, "hooks.example.com", 443)
    assert target.path == "/in?x=1"


def test_one_inner_address_among_public_ones_is_enough(monkeypatch: pytest.MonkeyPatch) -> None:
    named(monkeypatch, "8.8.8.8", "10.0.0.1")
    with pytest.raises(AddressRefused):
        target_of("https://hooks.example.com/")


def test_a_name_that_turned_inward_after_it_was_saved_is_refused(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    named(monkeypatch, "8.8.8.8")
    target_of("https://hooks.example.com/")
    named(monkeypatch, "127.0.0.1")
    with pytest.raises(AddressRefused):
        target_of("https://hooks.example.com/")


@pytest.mark.parametrize(
    "url",
    [
        "http://hooks.example.com/", "ftp://hooks.example.com/", "hooks.example.com", "",
        "https://", "https://user:pw@hooks.example.com/", "https://hooks.example.com/#x",
        "https://hooks.example.com:0/", "https://hooks.example.com:99999/", "https://[::1/",
        "https://hooks.exämple.com/", "https://hooks.example.com/a b", "https://localhost/",
        "https://hooks.example.com/\n", "javascript:alert(1)", "https://2130706433@/",
    ],
)  # fmt: skip
def test_what_is_no_public_https_address_is_refused(url: str) -> None:
    with pytest.raises(AddressRefused):
        url_checked(url)


def test_an_unknown_name_is_refused_at_the_try(monkeypatch: pytest.MonkeyPatch) -> None:
    def unknown(*_: object, **__: object) -> None:
        raise socket.gaierror

    monkeypatch.setattr(socket, "getaddrinfo", unknown)
    with pytest.raises(AddressRefused):
        target_of("https://hooks.example.com/")


@pytest.mark.parametrize(
    "written", ["https://0x7f000001/", "https://2130706433/", "https://127.1/"]
)
def test_this_machine_in_odd_figures_is_found_at_the_look_up(written: str) -> None:
    """The C library reads them as 127.0.0.1 (inet_aton); the look-up tells."""
    with pytest.raises(AddressRefused):
        target_of(written)


def test_http_to_this_machine_only_where_the_setting_says_so(settings: Any) -> None:
    with pytest.raises(AddressRefused):
        target_of("http://127.0.0.1:8000/")
    settings.SETWRIGHT_WEBHOOKS_TO_LOOPBACK = True
    assert target_of("http://127.0.0.1:8000/").ip == "127.0.0.1"
    with pytest.raises(AddressRefused):
        target_of("http://10.0.0.1/")


def test_http_to_a_public_name_never(settings: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    settings.SETWRIGHT_WEBHOOKS_TO_LOOPBACK = True
    named(monkeypatch, "8.8.8.8")
    with pytest.raises(AddressRefused):
        target_of("http://hooks.example.com/")
