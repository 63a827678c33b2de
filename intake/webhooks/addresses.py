"""Which addresses may be told: public ones by https, looked up anew before each try.

A name may point inward, and may do so only after it was checked. So every address a name has now
must be public, and the connection goes to the address that was checked.
"""

from __future__ import annotations

import socket
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv6Address, ip_address, ip_network
from urllib.parse import SplitResult, urlsplit

from django.conf import settings

from intake.webhooks.errors import AddressRefused

PORTS = {"https": 443, "http": 80}
# Networks that lead to other networks: an inner address could hide in theirs.
TRANSLATED = [ip_network(text) for text in ("64:ff9b::/96", "64:ff9b:1::/48", "2002::/16")]
TRANSLATED += [ip_network("2001::/32")]
Address = IPv4Address | IPv6Address


@dataclass(frozen=True, slots=True)
class Target:
    """Where to connect, and whom to expect there."""

    scheme: str
    host: str
    port: int
    ip: str
    path: str


def url_checked(url: str) -> SplitResult:
    """An address of a form that may be told, or ``AddressRefused`` with what to change."""
    try:
        parts = urlsplit(url.strip())
        port = parts.port
    except ValueError as error:
        raise AddressRefused("This is no address. Write it as https://host/path.") from error
    if parts.scheme not in PORTS or not parts.hostname or port == 0:
        raise AddressRefused
    if parts.username or parts.password or parts.fragment:
        raise AddressRefused("Leave out the user, the password and what follows a #.")
    if not url.isascii() or any(sign.isspace() or not sign.isprintable() for sign in url):
        raise AddressRefused("Write the address without spaces and in ASCII (xn-- for names).")
    _refuse_inner_literal(parts)
    return parts


def _refuse_inner_literal(parts: SplitResult) -> None:
    """An address in figures is known without a look-up; http is for this machine alone."""
    host = parts.hostname or ""
    literal = _literal(host)
    here = literal.is_loopback if literal else host == "localhost"
    if here and settings.SETWRIGHT_WEBHOOKS_TO_LOOPBACK:
        return
    if parts.scheme != "https" or here or (literal and not is_public(literal)):
        raise AddressRefused


def target_of(url: str) -> Target:
    """Look the name up and take an address of it, if all it has are public."""
    parts = url_checked(url)
    host, port = parts.hostname or "", parts.port or PORTS[parts.scheme]
    found = _looked_up(host, port)
    if not found or not all(_allowed(one, parts.scheme) for one in found):
        raise AddressRefused("Its name leads to an address that is not public.")
    path = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
    return Target(parts.scheme, host, port, str(found[0]), path)


def _looked_up(host: str, port: int) -> list[Address]:
    try:
        found = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)
    except (OSError, UnicodeError) as error:
        raise AddressRefused("Its name is not known.") from error
    return [ip_address(str(address[0]).partition("%")[0]) for *_, address in found]


def _allowed(address: Address, scheme: str) -> bool:
    if address.is_loopback:
        return bool(settings.SETWRIGHT_WEBHOOKS_TO_LOOPBACK)
    return scheme == "https" and is_public(address)


def is_public(address: Address) -> bool:
    """Whether anybody may be reached there: no private, shared, local or hidden inner address."""
    if isinstance(address, IPv6Address):
        if address.ipv4_mapped:
            return False
        if any(address in network for network in TRANSLATED) or address.is_site_local:
            return False
    return address.is_global and not address.is_multicast


def _literal(host: str) -> Address | None:
    try:
        return ip_address(host)
    except ValueError:
        return None
