"""Every limit that is in force, from the settings and from what the code itself allows."""

from __future__ import annotations

from service.api.resources import LimitsInForce
from service.api.waiting import MOST_SECONDS
from service.intake import MOST_FILES, MOST_UPLOADS
from service.own_profiles import MOST_BYTES as MOST_PROFILE_BYTES
from worker.callbacks.sending import TRY_SECONDS
from worker.settings import Settings

__all__ = ["limits_of"]


def limits_of(found: Settings) -> LimitsInForce:
    """What holds under these settings."""
    return LimitsInForce(
        bytes=found.limits.bytes,
        pages=found.limits.pages,
        seconds=found.limits.seconds,
        memory=found.limits.memory,
        days_kept=found.days_kept,
        days_kept_files=found.days_kept_files,
        days_kept_pictures=found.days_kept_pictures,
        share_days=found.share_days,
        most_share_days=found.most_share_days,
        member_files_at_once=found.quota.at_once,
        member_files_a_day=found.quota.a_day,
        member_bytes=found.quota.bytes,
        rate=found.least_rate,
        grace=found.grace_seconds,
        uploads=MOST_UPLOADS,
        idempotency_hours=found.repeat_hours,
        callback_seconds=int(TRY_SECONDS),
        callback_waits=list(found.callback_waits),
        requests=found.most_requests,
        profiles=found.most_profiles,
        profile_bytes=MOST_PROFILE_BYTES,
        files=MOST_FILES,
        author_bytes=min(found.author_max_bytes, found.limits.bytes),
        author_files_a_day=found.author_files_a_day,
        author_link_days=found.author_link_days,
        wait=MOST_SECONDS,
    )
