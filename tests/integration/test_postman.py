"""The POST to an endpoint: only to checked addresses, never longer than it may last."""

import socket
import ssl
import time
from datetime import UTC, datetime, timedelta
from email.utils import format_datetime
from ipaddress import ip_network

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from service.adapters.webhooks.post import Postman
from tests.receiver import receiver

LOOPBACK = (ip_network("127.0.0.0/8"),)


def resolves_to(*addresses):
    """Make a resolver that gives these, and counts how often it is asked."""

    def lookup(host, port, **_):
        lookup.asked.append(host)
        return [(socket.AF_INET, socket.SOCK_STREAM, 6, "", (one, port)) for one in addresses]

    lookup.asked = []
    return lookup


@pytest.mark.parametrize(
    "address",
    [
        *("0.0.0.0", "10.0.0.1", "127.0.0.1", "169.254.169.254"),
        *("::", "::1", "fc00::1", "fe80::1%lo"),
        *("::ffff:127.0.0.1", "::ffff:0.0.0.0", "64:ff9b::a00:1"),
    ],
)
def test_a_name_of_a_private_address_is_not_sent_to(address):
    with receiver() as told:
        postman = Postman(lookup=resolves_to(address))
        receipt = postman.post(f"https://crm.example:{told.port}/", {}, b"{}")
        assert (receipt.status, "not public" in receipt.error) == (None, True)
        assert told.got == []


def test_one_private_address_among_public_ones_is_enough_to_refuse():
    receipt = Postman(lookup=resolves_to("1.1.1.1", "127.0.0.1")).post(
        "https://crm.example/", {}, b""
    )
    assert "not public" in receipt.error


@pytest.mark.parametrize("host", ["127.0.0.1", "2130706433", "0177.0.0.1", "localhost"])
def test_the_resolver_of_this_host_is_not_trusted_either(host):
    with receiver() as told:
        receipt = Postman().post(f"https://{host}:{told.port}/", {}, b"{}")
        assert "not public" in receipt.error
        assert told.got == []


def test_the_name_is_looked_up_once_and_the_address_that_was_checked_is_used():
    # A resolver that gives another address the second time, as in DNS rebinding.
    with receiver() as told:
        lookup = resolves_to("127.0.0.1")
        receipt = Postman(LOOPBACK, lookup=lookup).post(
            f"http://crm.invalid:{told.port}/in?a=b", {}, b"{}"
        )
        assert receipt.status == 200
        assert lookup.asked == ["crm.invalid"]
        ((path, headers, _),) = told.got
        assert (path, headers["Host"]) == ("/in?a=b", f"crm.invalid:{told.port}")


def test_http_is_spoken_to_listed_networks_only():
    receipt = Postman(LOOPBACK, lookup=resolves_to("1.1.1.1")).post("http://crm.example/", {}, b"")
    assert receipt.error == "Events are sent by https only."


@pytest.mark.parametrize("manner", ["hold", "trickles"])
def test_an_endpoint_that_is_slow_is_given_up_in_time(manner):
    with receiver() as told:
        told.hold, told.trickles = (3, False) if manner == "hold" else (0, True)
        began = time.monotonic()
        receipt = Postman(LOOPBACK, seconds=0.5).post(told.url, {}, b"{}")
        assert time.monotonic() - began < 2
        assert receipt.status is None
        assert receipt.error.startswith("It was not reached")


@pytest.mark.parametrize(
    ("status", "written", "seconds"),
    [
        (429, "120", 120),
        (503, "0", 0),
        (503, "in two minutes", 120),  # as a date
        (503, "Wed, 21 Oct 2015 07:28:00 GMT", 0),  # the example of RFC 9110, long past
        (503, "9" * 40, 6 * 3600),
        pytest.param(500, "120", None, id="no status that may ask"),
        *((429, wrong, None) for wrong in ("", "soon", "-1", "1.5", "Fri, 99 Zzz 9999 00:00:00")),
    ],
)
def test_an_endpoint_may_ask_to_be_left_alone(status, written, seconds):
    # Source: RFC 9110, section 10.2.3: delay-seconds or an HTTP-date.
    with receiver() as told:
        if written == "in two minutes":
            written = format_datetime(datetime.now(UTC) + timedelta(seconds=120), usegmt=True)
        told.answers, told.retry_after = [status], written
        later = Postman(LOOPBACK).post(told.url, {}, b"{}").retry_after
    if seconds is None:
        assert later is None
    else:
        assert later.total_seconds() == pytest.approx(seconds, abs=60)


def test_a_proxy_of_the_environment_is_not_asked(monkeypatch):
    monkeypatch.setenv("http_proxy", "http://127.0.0.1:9")
    with receiver() as told:
        assert Postman(LOOPBACK).post(told.url, {}, b"{}").status == 200


@pytest.fixture(scope="module")
def certificate(tmp_path_factory):
    """A certificate of crm.invalid that vouches for itself, and its key, in one file."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "crm.invalid")])
    now = datetime.now(UTC)
    made = (
        x509.CertificateBuilder(name, name, key.public_key(), x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName("crm.invalid")]), critical=False)
        .sign(key, hashes.SHA256())
    )
    path = tmp_path_factory.mktemp("tls") / "crm.pem"
    form = serialization.Encoding.PEM
    secret = key.private_bytes(
        form, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    path.write_bytes(made.public_bytes(form) + secret)
    return path


def test_the_certificate_has_to_be_of_the_name_although_the_address_is_pinned(certificate):
    server = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    server.load_cert_chain(certificate)
    trusting = ssl.create_default_context(cafile=certificate)
    with receiver(server) as told:
        answers = {
            (name, whom): Postman(LOOPBACK, 2, resolves_to("127.0.0.1"), tls).post(
                f"https://{name}:{told.port}/", {}, b"{}"
            )
            for name in ("crm.invalid", "other.invalid")
            for whom, tls in (("it", trusting), ("others", ssl.create_default_context()))
        }
    good = answers.pop(("crm.invalid", "it"))
    assert good.status == 200
    assert {receipt.error for receipt in answers.values()} == {
        "It was not reached: SSLCertVerificationError."
    }
    assert len(told.got) == 1
