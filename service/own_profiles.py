"""Taking in a caller's own printer profile, and letting it go; the API and the web page both come in here.

What is sent is read strictly: :class:`ProfileError` names every key and line that has to be changed. A refusal for any
other reason is a :class:`Problem`.
"""

from __future__ import annotations

from dataclasses import dataclass

from service import problems
from service.house import settings, store
from service.known_profiles import KnownProfile, circle_of, known_of, known_profile
from service.problems import Problem
from worker.profiles import Problem as Flaw
from worker.profiles import (
    Profile,
    ProfileError,
    line_of_key,
    parse_profile_json,
    parse_profile_toml,
    written_toml,
)
from worker.store import NewProfile, ProfileTaken, Shared, TooManyProfiles
from worker.store.profiles import Agreed

__all__ = ["MOST_BYTES", "Sent", "flaws_of", "keep_profile", "let_go", "read_profile", "refuse_others", "sentence"]

MOST_BYTES = 32_000
"""A profile is a page or two of text."""

SOURCE = "profile"
"""How errors name what was sent."""


@dataclass(frozen=True)
class Sent:
    """A sound profile, and its text in TOML to go on from: as it was sent where it was sent so."""

    profile: Profile
    toml: str


def read_profile(data: bytes, *, is_json: bool, id_in_address: str | None = None) -> Sent:
    """The profile that was sent, as JSON or as TOML. Raises :class:`ProfileError`.

    With ``id_in_address`` its ``id`` has to be that one.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise ProfileError(SOURCE, (Flaw("is not text in UTF-8; save it as UTF-8"),)) from None
    profile = parse_profile_json(text, source=SOURCE) if is_json else parse_profile_toml(text, source=SOURCE)
    if id_in_address is not None and profile.id != id_in_address:
        said = f'id must be "{id_in_address}", as in the address; it is "{profile.id}"'
        raise ProfileError(SOURCE, (Flaw(said, line_of_key("id", text, is_json=is_json), "id"),))
    return Sent(profile, written_toml(profile) if is_json else text)


def refuse_others(profile_id: str, owner: str) -> None:
    """Raise :class:`Problem` where what the owner knows under this id is not the owner's to change."""
    known = known_profile(profile_id, owner)
    if known is None or known.source == "own":
        return
    if known.source == "built-in":
        detail = f"{profile_id} is built in and cannot be changed. Copy its TOML, give it another id, and put that."
        raise Problem(problems.PROFILE_BUILT_IN, detail)
    detail = (
        f"{profile_id} is another member's, who shares it with your circle, and is not yours to change. "
        "Copy its TOML, give it an id of your own, and put that."
    )
    raise Problem(problems.PROFILE_OF_ANOTHER, detail)


def keep_profile(sent: Sent, owner: str, *, shared: Shared | None, agreed: Agreed) -> tuple[KnownProfile, bool]:
    """Keep it in place of the owner's own of its id; also whether there was none. Raises :class:`Problem`.

    ``shared`` None leaves it shared as it is, and a new one private.
    """
    refuse_others(sent.profile.id, owner)
    most = settings().most_profiles
    circle = circle_of(owner) if _is_shared(sent.profile.id, owner, shared) else None
    new = NewProfile(owner, sent.profile.id, circle, sent.toml, sent.profile.model_dump_json())
    try:
        row, made = store().profiles.put(new, most=most, agreed=agreed)
    except ProfileTaken:
        detail = f"Another member shares a profile {new.id} with your circle. Give yours another id or keep it private."
        raise Problem(problems.PROFILE_ID_TAKEN, detail) from None
    except TooManyProfiles:
        detail = f"You keep {most} profiles, as many as one may. Delete one that is not used, then put this again."
        raise Problem(problems.TOO_MANY_PROFILES, detail, limit={"profiles": most}) from None
    known = known_of(row, owner)
    if known is None:
        raise RuntimeError(f"the profile {new.id} does not read back as it was written")
    return known, made


def let_go(profile_id: str, owner: str, *, agreed: Agreed) -> bool:
    """Delete the owner's own; False where there is none. Raises :class:`Problem`."""
    refuse_others(profile_id, owner)
    return store().profiles.delete(profile_id, owner, agreed=agreed)


def flaws_of(error: ProfileError) -> list[dict[str, object]]:
    """What has to be changed, for a problem's ``errors``: the key, the line in what was sent, and how."""
    return [
        {"field": flaw.key or SOURCE, "line": flaw.line, "detail": sentence(flaw.message)} for flaw in error.problems
    ]


def sentence(told: str) -> str:
    """With a capital and a stop."""
    return f"{told[:1].upper()}{told[1:]}" + ("" if told.endswith((".", "?", ")")) else ".")


def _is_shared(profile_id: str, owner: str, shared: Shared | None) -> bool:
    if shared is not None:
        return shared == "circle"
    before = store().profiles.own(profile_id, owner)
    return before is not None and before.shared == "circle"
