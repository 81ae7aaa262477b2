"""A profile written out as TOML, for whoever goes on from it."""

from __future__ import annotations

import tomli_w

from worker.profiles.models import Profile

__all__ = ["written_toml"]


def written_toml(profile: Profile) -> str:
    """The profile as a TOML text that reads back as the same profile; what asks nothing is left out."""
    asked = profile.model_dump(mode="json", exclude_none=True, exclude_defaults=True)
    return tomli_w.dumps(asked)
