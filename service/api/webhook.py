"""The call that the service makes when an inspection ends, as the API's description has it (OpenAPI, `webhooks`)."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Literal

from pydantic import Field

from service.api.described import body
from service.api.examples import DONE_INSPECTION, as_example
from service.api.shown import JSON
from worker.callbacks.sending import TRY_SECONDS
from worker.shown import Inspection, Shown

__all__ = ["WEBHOOKS", "CallbackMessage"]


class CallbackMessage(Shown):
    """What a call says (Standard Webhooks)."""

    type: Literal["inspection.done", "inspection.failed", "inspection.cancelled"]
    timestamp: datetime = Field(description="When the inspection ended.")
    data: Inspection = Field(description="The inspection as GET gives it.")


_ENDED = CallbackMessage(
    type="inspection.done", timestamp=DONE_INSPECTION.finished_at or DONE_INSPECTION.created_at, data=DONE_INSPECTION
)
_HEADERS = {
    "webhook-id": "The same in every try at one call: do nothing twice for it.",
    "webhook-timestamp": "When this try was sent, in seconds since 1970; refuse an old one.",
    "webhook-signature": "`v1,` and the HMAC-SHA256 of id, timestamp and body in base64, by the secret of the token "
    "that asked for the call. A library for Standard Webhooks checks all three.",
}

WEBHOOKS: dict[str, Any] = {
    "inspectionEnded": {
        "post": {
            "operationId": "inspectionEnded",
            "summary": "An inspection has ended",
            "description": "Sent to the `callback_url` that came with an upload, once its inspection is done, has "
            "failed or is cancelled. Anything but 2xx or 410 has it sent again, after the seconds that GET /v1/limits "
            "says in `callback_waits`. Deleting the inspection ends it.",
            "tags": ["callbacks"],
            "parameters": [
                {"name": name, "in": "header", "required": True, "description": told, "schema": {"type": "string"}}
                for name, told in _HEADERS.items()
            ],
            "requestBody": body(
                "Verify it as it came, byte for byte.",
                **{
                    JSON: {
                        "schema": {"$ref": "#/components/schemas/CallbackMessage"},
                        "examples": {"done": as_example("It has its report", _ENDED)},
                    }
                },
            ),
            "responses": {
                "2XX": {"description": f"The call is taken, if it comes within {TRY_SECONDS:.0f} seconds"},
                "410": {"description": "The receiver wants it no more: it is not sent again"},
            },
        }
    }
}
