"""Which addresses this service calls: those of the public internet, and those that whoever runs it has allowed.

A caller names the address, and the service stands inside a network that the caller may not be able to reach. So the
name is looked up once, what it leads to is held against the tables below, and the connection goes to that very
address: a name that leads elsewhere a moment later changes nothing.
"""

from __future__ import annotations

import ipaddress
import re
from collections.abc import Iterable
from dataclasses import dataclass
from ipaddress import IPv4Address, IPv4Network, IPv6Address, IPv6Network
from urllib.parse import urlsplit

from worker.limits import SettingsError

__all__ = ["LONGEST_URL", "Allowed", "Refused", "Target", "target_of"]

LONGEST_URL = 2000

Address = IPv4Address | IPv6Address
Network = IPv4Network | IPv6Network

NOT_PUBLIC: tuple[Network, ...] = tuple(
    ipaddress.ip_network(each)
    for each in (
        # The IANA IPv4 Special-Purpose Address Registry (RFC 6890), what is not globally reachable.
        "0.0.0.0/8",
        "10.0.0.0/8",
        "100.64.0.0/10",
        "127.0.0.0/8",
        "169.254.0.0/16",
        "172.16.0.0/12",
        "192.0.0.0/24",
        "192.0.2.0/24",
        "192.88.99.0/24",
        "192.168.0.0/16",
        "198.18.0.0/15",
        "198.51.100.0/24",
        "203.0.113.0/24",
        "240.0.0.0/4",
        # Multicast (RFC 5771).
        "224.0.0.0/4",
        # Looks public, and is the host's own service on rented machines (common practice, no source).
        "168.63.129.16/32",
        # The IPv6 registry, within 2000::/3: protocol assignments with Teredo, 6to4 (it carries any IPv4 address),
        # and documentation.
        "2001::/23",
        "2001:db8::/32",
        "2002::/16",
        "3fff::/20",
    )
)
PUBLIC_V6 = IPv6Network("2000::/3")
"""All IPv6 unicast that is handed out (RFC 4291, section 2.4; the IANA registry of IPv6 address space). Outside it are
loopback, private, link-local and multicast addresses, and those that carry an IPv4 address (mapped; NAT64)."""

WEB_PORTS = {80, 443}
FREE_PORTS = range(1024, 65536)
"""Below it live mail, names and files: a request to them could be taken for something else."""

HOST = re.compile(r"[A-Za-z0-9_-]+(\.[A-Za-z0-9_-]+)*\.?", re.ASCII)
ENDS_IN_A_NUMBER = re.compile(r"(^|\.)([0-9]+|0[xX][0-9A-Fa-f]*)\.?$", re.ASCII)
"""Such a host is an IPv4 address, maybe oddly written, and never a name (WHATWG URL, "ends in a number")."""

LOCAL_NAMES = ("localhost", "local", "internal", "home.arpa")
"""Names that never leave a network: RFC 6761, RFC 6762, RFC 8375; ``internal`` is set aside for it by ICANN."""


class Refused(Exception):
    """This address is not called; the message says why, and what to do."""


@dataclass(frozen=True)
class Target:
    """Where to call. ``host`` is a name or an address, without brackets; ``path`` carries the query."""

    https: bool
    host: str
    port: int
    path: str

    @property
    def literal(self) -> Address | None:
        """The address, where the URL gives one and not a name."""
        return _address(self.host)


@dataclass(frozen=True)
class Allowed:
    """What may be called beside the public internet: networks, and hosts by name. These may do without https."""

    networks: tuple[Network, ...] = ()
    names: frozenset[str] = frozenset()

    @classmethod
    def of(cls, setting: str, text: str) -> Allowed:
        """From networks, addresses and names with spaces or commas between them. Raises :class:`SettingsError`."""
        networks: list[Network] = []
        names: set[str] = set()
        for word in text.replace(",", " ").split():
            try:
                networks.append(ipaddress.ip_network(word))
            except ValueError:
                if "/" in word or ENDS_IN_A_NUMBER.search(word) or not HOST.fullmatch(word):
                    raise SettingsError(
                        f"{setting}: {word!r} is neither a network (10.20.0.0/16), an address nor a host's name"
                    ) from None
                names.add(_plain(word))
        return cls(tuple(networks), frozenset(names))

    def takes_name(self, host: str) -> bool:
        """Whether whoever runs the service has named this very host."""
        return _plain(host) in self.names

    def takes_address(self, address: Address) -> bool:
        """Whether whoever runs the service has allowed this address."""
        return any(address in network for network in self.networks if network.version == address.version)

    def takes(self, target: Target) -> bool:
        """Whether the target is allowed by its name or its address, as far as the URL tells."""
        literal = target.literal
        return self.takes_name(target.host) if literal is None else self.takes_address(_unmapped(literal))

    def callable_of(self, target: Target, found: Iterable[str]) -> list[str]:
        """Those addresses, of all that the name leads to, that may be called. Raises :class:`Refused` if none may be.

        The message does not name them: what a network's own name server knows is not for callers.
        """
        named = self.takes_name(target.host)
        may = [text for text in found if named or self._may_be_called(text)]
        if not may:
            raise Refused("the name leads to no address that this service calls")
        return may

    def _may_be_called(self, text: str) -> bool:
        address = _address(text)
        return address is not None and (self.takes_address(_unmapped(address)) or _is_public(address))


def target_of(url: str, allowed: Allowed) -> Target:
    """Where ``url`` leads. Raises :class:`Refused` where it can be told from it alone that it is not called."""
    target = _read(url)
    if allowed.takes(target):
        return target
    if not target.https:
        raise Refused("It has to begin with https://.")
    if target.port not in WEB_PORTS and target.port not in FREE_PORTS:
        raise Refused(f"Port {target.port} is not called. Use 443, or a port from 1024 up.")
    literal = target.literal
    if literal is not None and not _is_public(literal):
        raise Refused("This address is not one of the public internet. " + ASK)
    name = _plain(target.host)
    if literal is None and (name.endswith(tuple(f".{each}" for each in LOCAL_NAMES)) or "." not in name):
        raise Refused("This name means something within a network alone. " + ASK)
    return target


ASK = "Use one that is, or ask whoever runs this service to allow it (PRESSWORTHY_CALLBACK_HOSTS)."


def _read(url: str) -> Target:
    """The parts of a URL (RFC 3986), none of them odd. Raises :class:`Refused`."""
    if len(url) > LONGEST_URL:
        raise Refused(f"It is longer than {LONGEST_URL} characters.")
    if not url.isascii() or not url.isprintable() or any(sign in url for sign in ' "<>\\^`{|}'):
        raise Refused("It has characters that a URL does not have; encode them (%20), and a host's name as xn--….")
    try:
        parts = urlsplit(url)
        port = parts.port
    except ValueError:
        raise Refused("It cannot be read. Write it as https://host.example/path.") from None
    if parts.scheme not in {"http", "https"}:
        raise Refused("It has to begin with https://.")
    if "@" in parts.netloc:
        raise Refused("Leave the user's name and password out of it; the call is signed.")
    if "#" in url:
        raise Refused("Leave out the part from # on; it is never sent.")
    host = parts.hostname or ""
    if not _is_host(host, bracketed="[" in parts.netloc):
        raise Refused("Its host is neither a name nor an address. Write it as https://host.example/path.")
    https = parts.scheme == "https"
    if port == 0:
        raise Refused("Port 0 is not called. Use 443, or a port from 1024 up.")
    path = (parts.path or "/") + (f"?{parts.query}" if parts.query else "")
    return Target(https, host, port or (443 if https else 80), path)


def _is_host(host: str, *, bracketed: bool) -> bool:
    if bracketed:
        return "%" not in host and isinstance(_address(host), IPv6Address)
    if ENDS_IN_A_NUMBER.search(host):
        return isinstance(_address(host), IPv4Address)
    return HOST.fullmatch(host) is not None and len(host) <= 253


def _is_public(address: Address) -> bool:
    """Whether it belongs to the public internet; one that carries an IPv4 address inside does not."""
    if isinstance(address, IPv6Address) and (address.scope_id is not None or address not in PUBLIC_V6):
        return False
    return not any(address in network for network in NOT_PUBLIC if network.version == address.version)


def _address(text: str) -> Address | None:
    try:
        return ipaddress.ip_address(text)
    except ValueError:
        return None


def _unmapped(address: Address) -> Address:
    """The IPv4 address that an IPv4-mapped one means (RFC 4291, section 2.5.5.2): it is that which is reached."""
    mapped = address.ipv4_mapped if isinstance(address, IPv6Address) else None
    return mapped or address


def _plain(host: str) -> str:
    return host.rstrip(".").lower()
