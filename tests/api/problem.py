"""What every error of the service has to be: problem details (RFC 9457)."""

from __future__ import annotations

from werkzeug.test import TestResponse

from service.problems import KINDS


def check_problem(answer: TestResponse, status: int, slug: str) -> dict[str, object]:
    """Assert the one shape, and give the members."""
    told: dict[str, object] = answer.get_json(force=True)
    assert (answer.status_code, told["type"]) == (status, f"/problems/{slug}"), told
    assert answer.mimetype == "application/problem+json"
    assert told["status"] == status == KINDS[slug].status
    assert told["title"] == KINDS[slug].title
    detail = told["detail"]
    assert isinstance(detail, str)
    assert detail.rstrip()[-1] in ".)", detail
    assert "Traceback" not in detail
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    return told
