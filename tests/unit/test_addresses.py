"""Which addresses events may be sent to, in every way one can be written."""

from ipaddress import ip_address, ip_network

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.usecases.addresses import is_listed, is_open, refused, written_address

PRIVATE = """
    0.0.0.0 10.0.0.1 10.255.255.255 100.64.0.1 127.0.0.1 127.255.255.254 169.254.169.254
    172.16.0.1 172.31.255.255 192.168.1.1 192.0.2.1 198.18.0.1 224.0.0.1 240.0.0.1 255.255.255.255
    :: ::1 fc00::1 fdff::1 fe80::1 fe80::1%eth0 fec0::1 ff02::1 2001:db8::1 2002:a00:1::
    ::ffff:10.0.0.1 ::ffff:127.0.0.1 ::ffff:a9fe:a9fe ::10.0.0.1 64:ff9b::7f00:1 64:ff9b:1::1
""".split()
PUBLIC = "1.1.1.1 172.15.0.1 172.32.0.1 2606:4700::1111 ::ffff:1.1.1.1 64:ff9b::101:101".split()
# IPv4 as inet_aton(3) reads it: whole, octal, hexadecimal, short, mixed.
LOOPBACK_AS = "2130706433 017700000001 0x7f000001 127.1 0177.0.0.1 0x7f.1 127.0.1".split()


@pytest.mark.parametrize("address", PRIVATE)
def test_no_address_that_is_not_public_is_open(address):
    assert not is_open(address)


@pytest.mark.parametrize("address", PUBLIC)
def test_public_addresses_are_open(address):
    assert is_open(address)


@given(st.ip_addresses(v=4))
def test_an_address_wrapped_in_ipv6_is_as_open_as_itself(address):
    wrapped = ip_address(f"::ffff:{address}"), ip_address(f"64:ff9b::{address}")
    assert [is_open(str(one)) for one in wrapped] == [is_open(str(address))] * 2


@pytest.mark.parametrize("host", LOOPBACK_AS)
def test_every_form_of_loopback_is_refused_in_an_address_of_the_web(host):
    assert written_address(host) == "127.0.0.1"
    assert "not public" in refused(f"https://{host}/hook")


@pytest.mark.parametrize(
    "host", ["localhost", "localhost.", "LOCALHOST", "crm.localhost", "[::1]", "[::ffff:10.0.0.1]"]
)
def test_names_and_literals_of_this_host_are_refused(host):
    assert "not public" in refused(f"https://{host}:8443/hook")


def test_http_and_private_networks_are_open_where_the_operator_lists_them():
    own = [ip_network("10.1.0.0/16")]
    assert "https" in refused("http://crm.example/hook")
    assert refused("http://10.1.2.3/hook", own) == ""
    assert "not public" in refused("http://10.2.2.3/hook", own)
    assert is_listed("::ffff:10.1.2.3", own)
    assert not is_listed("1.1.1.1", own)


def test_a_port_that_is_none_is_refused():
    assert refused("https://crm.example:99999/hook") != ""
