"""``/v1/profiles``: which printers one can choose, and what each accepts."""

from __future__ import annotations

from flask import Response
from flask_openapi.blueprint import APIBlueprint

from service import problems
from service.access import guard_api
from service.api.accept import chosen
from service.api.described import BEARER, answers, given
from service.api.resources import ProfileList, ProfilePath, ProfileSummary
from service.api.shown import JSON, answer
from service.problems import Problem
from worker.profiles import Profile, builtin_profiles, profile_toml

__all__ = ["blueprint"]

blueprint = APIBlueprint("profiles", __name__, url_prefix="/v1", abp_tags=[{"name": "profiles"}])
blueprint.before_request(guard_api)

TOML = "application/toml"
TOML_SCHEMA = {"type": "string", "description": "The profile as a file to start one's own from."}


@blueprint.get(
    "/profiles",
    operation_id="listProfiles",
    security=BEARER,
    responses=answers({200: given("Every profile", (JSON, ProfileList))}),
)
def listed() -> Response:
    """The printer profiles that can be chosen"""
    return answer(ProfileList(profiles=[_in_short(profile) for profile in builtin_profiles().values()]))


@blueprint.get(
    "/profiles/<id>",
    operation_id="getProfile",
    security=BEARER,
    responses=answers(
        {200: given("The profile", (JSON, Profile), (TOML, TOML_SCHEMA))},
        problems.NO_SUCH_PROFILE,
        problems.NOT_ACCEPTABLE,
    ),
)
def one(path: ProfilePath) -> Response:
    """What one printer accepts, as JSON or TOML by `Accept`"""
    known = builtin_profiles()
    if path.id not in known:
        detail = f"No profile has this id. There are {', '.join(known)}."
        raise Problem(problems.NO_SUCH_PROFILE, detail, known=list(known))
    as_toml = chosen((JSON, TOML)) == TOML
    made = Response(profile_toml(path.id), mimetype=TOML) if as_toml else answer(known[path.id])
    made.headers["Vary"] = "Accept"
    return made


def _in_short(profile: Profile) -> ProfileSummary:
    return ProfileSummary(
        id=profile.id,
        name=profile.name,
        revision=profile.revision,
        unit=profile.unit,
        note=profile.note,
        link=f"/v1/profiles/{profile.id}",
    )
