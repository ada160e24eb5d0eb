"""Signatures by which a receiver knows that an event comes from here, whole and now.

Source: Standard Webhooks specification 1.0: symmetric signatures, "v1".
"""

import base64
import hashlib
import hmac
from collections.abc import Sequence
from datetime import datetime

from service.adapters.storage.webhooks import SECRET_PREFIX


def signed(event_id: str, at: datetime, body: bytes, secrets: Sequence[str]) -> dict[str, str]:
    """Give the headers of one attempt.

    Args:
        event_id: The same in every attempt.
        at: Of this attempt.
        body: What is sent.
        secrets: Each signs; while secrets change over there are two.
    """
    moment = str(int(at.timestamp()))
    said = b".".join((event_id.encode(), moment.encode(), body))
    return {
        "webhook-id": event_id,
        "webhook-timestamp": moment,
        "webhook-signature": " ".join(_signature(secret, said) for secret in secrets),
    }


def _signature(secret: str, said: bytes) -> str:
    key = base64.b64decode(secret.removeprefix(SECRET_PREFIX))
    return "v1," + base64.b64encode(hmac.new(key, said, hashlib.sha256).digest()).decode()
