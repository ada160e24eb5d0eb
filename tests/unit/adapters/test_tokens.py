"""Tokens of an issuer are taken when they are good, and for what they say only.

Source of what must be refused: RFC 8725 (JSON Web Token best current practices), section 3.
"""

import json
import time
from datetime import UTC, datetime

import jwt
import pytest
from cryptography.hazmat.primitives import serialization
from cryptography.hazmat.primitives.asymmetric import ec, rsa
from jwt.algorithms import ECAlgorithm, RSAAlgorithm

from service.adapters.tokens import TokenGate
from service.domain.errors import Unauthenticated
from service.settings import OidcSettings
from service.usecases.callers import Scope
from service.usecases.outages import StoreUnavailable

NOW = datetime.now(UTC)
RSA = rsa.generate_private_key(65537, 2048)
EC = ec.generate_private_key(ec.SECP256R1())
STRANGER = rsa.generate_private_key(65537, 2048)
GOOD = {
    "iss": "https://id.larkmere.example",
    "aud": "evenbay",
    "sub": "ann",
    "dealer": "Larkmere Deck & Rail",
    "scope": "quotes:read openid costs:read",
}


class Keys:
    """The gate of keys, which knows none."""

    def caller(self, credential, at):
        raise Unauthenticated(f"keys were asked for {credential}")


@pytest.fixture(scope="module")
def gate(tmp_path_factory):
    jwks = {
        "keys": [
            json.loads(RSAAlgorithm.to_jwk(RSA.public_key())) | {"kid": "r", "alg": "RS256"},
            json.loads(ECAlgorithm.to_jwk(EC.public_key())) | {"kid": "e", "alg": "ES256"},
        ]
    }
    path = tmp_path_factory.mktemp("oidc") / "jwks.json"
    path.write_text(json.dumps(jwks))
    settings = OidcSettings("https://id.larkmere.example", "evenbay", str(path))
    return TokenGate(Keys(), settings, {"Larkmere Deck & Rail": "dealer-1"}.get)


def token(key=RSA, algorithm="RS256", kid="r", **claims):
    content = {**GOOD, "exp": int(time.time()) + 86_400, **claims}
    content = {name: value for name, value in content.items() if value is not None}
    return jwt.encode(content, key, algorithm=algorithm, headers={"kid": kid})


@pytest.mark.parametrize("sent", [token(), token(EC, "ES256", "e")])
def test_a_good_token_opens_the_books_of_its_dealer(gate, sent):
    caller = gate.caller(sent, NOW)
    assert (caller.dealer, caller.who) == ("dealer-1", "user ann")
    assert caller.scopes == {Scope.QUOTES_READ, Scope.COSTS_READ}


PUBLIC = RSA.public_key().public_bytes(
    serialization.Encoding.PEM, serialization.PublicFormat.SubjectPublicKeyInfo
)


@pytest.mark.parametrize(
    ("sent", "why"),
    [
        (token(exp=int(time.time()) - 3600), "expired"),
        (token(exp=None), "exp"),
        (token(iss="https://other.example"), "issuer"),
        (token(aud="another"), "[Aa]udience"),
        (token(sub=None), "sub"),
        (token(dealer="Osprey Railing"), "names no dealer"),
        (token(dealer=None), "names no dealer"),
        (token(dealer=["Larkmere Deck & Rail"]), "names no dealer"),
        (token(STRANGER), "[Ss]ignature"),
        (token(kid="x"), "kid"),
        (token(nbf=int(time.time()) + 3600), "not yet valid"),
        (token()[:-4] + "AAAA", "[Ss]ignature"),
        (jwt.encode({**GOOD, "exp": 9e9}, None, algorithm="none", headers={"kid": "r"}), "alg"),
        (token(scope="x" * 9000), "too long"),
        ("a.b.c", "not good"),
    ],
)
def test_a_bad_token_opens_nothing(gate, sent, why):
    with pytest.raises(Unauthenticated, match=why):
        gate.caller(sent, NOW)


def test_a_public_key_is_no_shared_secret(gate):
    """The confusion of RFC 8725, 2.1: an HMAC made with the public key must not pass."""
    import base64
    import hashlib
    import hmac

    def part(content):
        return base64.urlsafe_b64encode(json.dumps(content).encode()).rstrip(b"=")

    signed = part({"alg": "HS256", "kid": "r"}) + b"." + part({**GOOD, "exp": int(9e9)})
    mac = hmac.new(PUBLIC, signed, hashlib.sha256).digest()
    sent = (signed + b"." + base64.urlsafe_b64encode(mac).rstrip(b"=")).decode()
    with pytest.raises(Unauthenticated, match="alg"):
        gate.caller(sent, NOW)


def test_keys_are_still_taken(gate):
    with pytest.raises(Unauthenticated, match="keys were asked"):
        gate.caller("evb_abcdefgh_secret", NOW)
    with pytest.raises(Unauthenticated, match="keys were asked"):
        gate.caller("neither", NOW)


def test_an_issuer_that_does_not_answer_is_no_fault_of_the_token():
    """Nothing listens at port 9 of this machine (RFC 863's service is long gone)."""
    away = OidcSettings("https://id.larkmere.example", "evenbay", "https://127.0.0.1:9/jwks.json")
    with pytest.raises(StoreUnavailable, match="issuer"):
        TokenGate(Keys(), away, {"Larkmere Deck & Rail": "dealer-1"}.get).caller(token(), NOW)
