"""Which addresses events may be sent to: public ones, and those that the operator lists.

Source: the special-purpose address registries of IANA, as Python's ipaddress knows them; RFC 4291
section 2.5.5.2 (IPv4-mapped), RFC 6052 section 2.1 (64:ff9b::/96), RFC 3056 (6to4).
"""

import ipaddress
import socket
from collections.abc import Sequence
from urllib.parse import urlsplit

Address = ipaddress.IPv4Address | ipaddress.IPv6Address
Network = ipaddress.IPv4Network | ipaddress.IPv6Network
_TRANSLATED = ipaddress.IPv6Network("64:ff9b::/96")
_GLOBAL_UNICAST = ipaddress.IPv6Network("2000::/3")  # all that IANA has given out


def is_open(address: str, allowed: Sequence[Network] = ()) -> bool:
    """Tell whether events may be sent to an address.

    Args:
        address: As a resolver gives it.
        allowed: Networks that are open although they are not public.

    Example:
        >>> is_open("93.184.215.14"), is_open("10.0.0.1"), is_open("::ffff:127.0.0.1")
        (True, False, False)
    """
    meant = _meant(ipaddress.ip_address(address.partition("%")[0]))
    if is_listed(str(meant), allowed):
        return True
    if isinstance(meant, ipaddress.IPv6Address) and meant not in _GLOBAL_UNICAST:
        return False
    return meant.is_global and not meant.is_multicast


def is_listed(address: str, allowed: Sequence[Network]) -> bool:
    """Tell whether the operator listed a network with this address."""
    meant = _meant(ipaddress.ip_address(address.partition("%")[0]))
    return any(meant.version == network.version and meant in network for network in allowed)


def _meant(address: Address) -> Address:
    """Give the IPv4 address that an IPv6 address stands for, or the address itself."""
    if isinstance(address, ipaddress.IPv4Address):
        return address
    if address in _TRANSLATED:
        return ipaddress.IPv4Address(int(address) & 0xFFFF_FFFF)
    return address.ipv4_mapped or address.sixtofour or address


def refused(url: str, allowed: Sequence[Network] = ()) -> str:
    """Tell why an address of the web can be no endpoint, "" if nothing speaks against it.

    A name is looked up only when something is sent, so that nobody waits for it here.

    Example:
        >>> refused("https://0x7f.1/hook")
        'Events are not sent to this address; it is not public.'
        >>> refused("https://crm.example/hook")
        ''
    """
    try:
        parts = urlsplit(url)
        host, _ = parts.hostname or "", parts.port
    except ValueError:
        return "Write an address such as https://crm.example/hooks."
    if parts.scheme != "https" and not allowed:
        return "Write an address that begins with https."
    written = written_address(host)
    if host.rstrip(".") == "localhost" or host.endswith((".localhost", ".localhost.")):
        written = "127.0.0.1"
    if written and not is_open(written, allowed):
        return "Events are not sent to this address; it is not public."
    return ""


def written_address(host: str) -> str:
    """Give the address that a host is written as, in any form resolvers take; "" for a name.

    Example:
        >>> written_address("2130706433"), written_address("0177.0.0.1"), written_address("::1")
        ('127.0.0.1', '127.0.0.1', '::1')
    """
    try:
        return str(ipaddress.ip_address(host.partition("%")[0]))
    except ValueError:
        pass
    try:
        return socket.inet_ntoa(socket.inet_aton(host))  # decimal, octal, hexadecimal, short
    except (OSError, UnicodeError):
        return ""
