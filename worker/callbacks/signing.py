"""The secret by which a caller's callbacks are signed: derived from the house's key, and kept nowhere."""

from __future__ import annotations

import base64
import hashlib
import hmac
from datetime import datetime

from standardwebhooks.webhooks import Webhook

__all__ = ["callback_secret", "key_mark", "signed_headers"]


def callback_secret(key: str, signer: str) -> str:
    """The secret of one token, or of one owner where there is no token: ``whsec_`` and 32 bytes in base64.

    ``key`` is the house's key, ``signer`` the id of the token or of the owner. Who knows one secret knows no other.
    """
    return "whsec_" + base64.b64encode(_derived(key, f"callback:{signer}")).decode("ascii")


def key_mark(key: str) -> str:
    """By which two processes tell that they have the same key, without showing it: 16 hexadecimal digits."""
    return _derived(key, "mark").hex()[:16]


def signed_headers(secret: str, message_id: str, moment: datetime, body: str) -> dict[str, str]:
    """The three headers of the Standard Webhooks specification for one try at ``moment``, which is in UTC."""
    return {
        "webhook-id": message_id,
        "webhook-timestamp": str(int(moment.timestamp())),
        "webhook-signature": Webhook(secret).sign(message_id, moment, body),
    }


def _derived(key: str, purpose: str) -> bytes:
    return hmac.digest(key.encode(), purpose.encode(), hashlib.sha256)
