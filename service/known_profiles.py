"""The printers that a caller can choose: the built-in ones, the caller's own, and those that its circle shares.

An own profile goes before any other of its id: nobody else's sharing, and no later version of this service, puts
another printer in its place.
"""

from __future__ import annotations

import hashlib
import logging
import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Literal

from pydantic import ValidationError

from service.house import store
from worker.profiles import Profile, builtin_profiles, profile_toml
from worker.store import KeptProfile, Shared

__all__ = ["KnownProfile", "Source", "circle_of", "known_of", "known_profile", "known_profiles"]

log = logging.getLogger(__name__)

Source = Literal["built-in", "own", "circle"]

_ID = re.compile(r"[a-z0-9-]{1,64}")
"""No other text is asked of the database."""


@dataclass(frozen=True)
class KnownProfile:
    """A profile that a caller can choose. ``toml`` is its text to go on from; ``mark`` changes with what it says.

    ``shared`` is None for a built-in one, which everybody has.
    """

    profile: Profile
    toml: str
    mark: str
    source: Source
    shared: Shared | None


def circle_of(owner: str) -> str:
    """The circle with which this owner shares profiles."""
    return store().members.circle_of(owner)


def known_profiles(owner: str) -> Mapping[str, KnownProfile]:
    """All by id: the built-in ones in their order, then the others by id."""
    kept = [known_of(row, owner) for row in store().profiles.known_to(owner, circle_of(owner))]
    return {**_builtin(), **{known.profile.id: known for known in kept if known is not None}}


def known_profile(profile_id: str, owner: str) -> KnownProfile | None:
    """The one of this id; None where the caller has none."""
    if not _ID.fullmatch(profile_id):
        return None
    row = store().profiles.get(profile_id, owner, circle_of(owner))
    kept = None if row is None else known_of(row, owner)
    if kept is not None and kept.source == "own":
        return kept
    return _builtin().get(profile_id) or kept


@cache
def _builtin() -> Mapping[str, KnownProfile]:
    return {
        id_: KnownProfile(profile, text := profile_toml(id_), _mark(text), "built-in", None)
        for id_, profile in builtin_profiles().items()
    }


def _mark(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def known_of(row: KeptProfile, owner: str) -> KnownProfile | None:
    """A kept one; None where this version asks more of a profile than the one that took it in."""
    try:
        profile = Profile.model_validate_json(row.json)
    except ValidationError:
        log.warning("the profile %s of %s is no longer sound; it has to be put again", row.id, row.owner)
        return None
    return KnownProfile(profile, row.toml, row.mark, "own" if row.owner == owner else "circle", row.shared)
