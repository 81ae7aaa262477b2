"""``/v1/profiles``: which printers one can choose, what each accepts, and those of one's own."""

from __future__ import annotations

from collections.abc import Callable

from flask import Response, request
from flask_openapi.blueprint import APIBlueprint

from service import problems
from service.access import guard_api, manages, owner
from service.api.accept import chosen
from service.api.conditions import check_conditions
from service.api.described import BEARER, TAG, answers, body, given
from service.api.examples import PROFILE, PROFILE_TOML, PROFILES, SUMMARY
from service.api.resources import ProfileList, ProfilePath, ProfileSummary, PutHeader, SharedQuery
from service.api.shown import JSON, answer, cacheable
from service.known_profiles import KnownProfile, known_profile, known_profiles
from service.own_profiles import MOST_BYTES, Sent, flaws_of, keep_profile, let_go, read_profile, refuse_others, sentence
from service.problems import Problem
from worker.profiles import Profile, ProfileError
from worker.store import KeptProfile

__all__ = ["blueprint"]

blueprint = APIBlueprint("profiles", __name__, url_prefix="/v1", abp_tags=[{"name": "profiles"}])
blueprint.before_request(guard_api)

TOML = "application/toml"
FORMS = (JSON, TOML)
TOML_SCHEMA = {"type": "string", "description": "The profile as a file to start one's own from."}
PROFILE_BODY = body(
    "The profile, its `id` that of the address, as TOML or as the same keys in JSON.",
    **{
        TOML: {"schema": TOML_SCHEMA, "examples": PROFILE_TOML},
        JSON: {"schema": {"$ref": "#/components/schemas/Profile"}, "examples": PROFILE},
    },
)


@blueprint.get(
    "/profiles",
    operation_id="listProfiles",
    security=BEARER,
    responses=answers({200: given("Every profile", (JSON, ProfileList), headers=TAG, examples=PROFILES)}, cached=True),
)
def listed() -> Response:
    """The printer profiles that can be chosen

    The built-in ones, your own, and those that other members share with your circle. An own one goes before any other
    of its id.
    """
    found = known_profiles(owner()).values()
    return cacheable(answer(ProfileList(profiles=[_in_short(known) for known in found])))


@blueprint.get(
    "/profiles/<id>",
    operation_id="getProfile",
    security=BEARER,
    responses=answers(
        {200: given("The profile", (JSON, Profile), (TOML, TOML_SCHEMA), headers=TAG, examples=PROFILE)},
        problems.NO_SUCH_PROFILE,
        problems.NOT_ACCEPTABLE,
        cached=True,
    ),
)
def one(path: ProfilePath) -> Response:
    """What one printer accepts, as JSON or TOML by `Accept`"""
    known = known_profile(path.id, owner())
    if known is None:
        raise _no_such()
    form = chosen(FORMS)
    made = Response(known.toml, mimetype=TOML) if form == TOML else answer(known.profile)
    made.headers["Vary"] = "Accept"
    return cacheable(made, _tag(known.mark, form))


@blueprint.put(
    "/profiles/<id>",
    operation_id="putProfile",
    security=BEARER,
    request_body=PROFILE_BODY,
    responses=answers(
        {
            200: given("It is kept in place of the one before", (JSON, ProfileSummary), headers=TAG, examples=SUMMARY),
            201: given(
                "It is kept",
                (JSON, ProfileSummary),
                headers=TAG | {"Location": "Where the profile is found."},
                examples=SUMMARY,
                links=dict.fromkeys(("getProfile", "putProfile", "deleteProfile"), "id"),
            ),
        },
        problems.MALFORMED,
        problems.FOREIGN_ORIGIN,
        problems.PROFILE_BUILT_IN,
        problems.PROFILE_OF_ANOTHER,
        problems.TOO_SLOW,
        problems.PROFILE_ID_TAKEN,
        problems.TOO_MANY_PROFILES,
        problems.CHANGED_MEANWHILE,
        problems.TOO_LARGE,
        problems.UNSUPPORTED_MEDIA_TYPE,
        problems.PROFILE_NOT_SOUND,
        problems.CONDITION_NEEDED,
    ),
)
@manages
def put(header: PutHeader, path: ProfilePath, query: SharedQuery) -> Response:
    """Keep a printer profile of your own

    A new one needs no condition; one that exists is replaced only with its `ETag` in `If-Match` (or `*`). What is wrong
    is named by key and line. Reports, and inspections that wait, keep the profile that they were asked for with. The
    answer bears the `ETag` where the profile is kept byte for byte as it was sent, which is so for TOML.
    """
    refuse_others(path.id, owner())
    sent = _sent(path.id)
    known, made = keep_profile(sent, owner(), shared=query.shared, agreed=_agreed(needed=True))
    answered = answer(_in_short(known), 201 if made else 200)
    if made:
        answered.headers["Location"] = _address_of(known)
    if request.mimetype == TOML:  # RFC 9110, section 9.3.4
        answered.set_etag(_tag(known.mark, TOML))
    return answered


@blueprint.delete(
    "/profiles/<id>",
    operation_id="deleteProfile",
    security=BEARER,
    responses=answers(
        {204: given("It is gone")},
        problems.FOREIGN_ORIGIN,
        problems.PROFILE_BUILT_IN,
        problems.PROFILE_OF_ANOTHER,
        problems.NO_SUCH_PROFILE,
        problems.CHANGED_MEANWHILE,
    ),
)
@manages
def delete(header: PutHeader, path: ProfilePath) -> Response:
    """Delete a printer profile of your own

    `If-Match` is honoured and not asked for. Reports keep the profile that they were judged by.
    """
    if known_profile(path.id, owner()) is None or not let_go(path.id, owner(), agreed=_agreed(needed=False)):
        raise _no_such()
    return Response(status=204)


def _sent(id_in_address: str) -> Sent:
    """The profile in the request's body. Raises :class:`Problem`."""
    if request.mimetype not in FORMS:
        was = f"The body is {request.mimetype}" if request.mimetype else "The body has no Content-Type"
        detail = f"{was}. Send the profile as {TOML} or as {JSON}."
        raise Problem(problems.UNSUPPORTED_MEDIA_TYPE, detail, headers={"Accept": ", ".join(FORMS)})
    request.max_content_length = MOST_BYTES
    try:
        return read_profile(request.get_data(), is_json=request.mimetype == JSON, id_in_address=id_in_address)
    except ProfileError as error:
        detail = f"{sentence(str(error))} Change it, and send the profile again."
        raise Problem(problems.PROFILE_NOT_SOUND, detail, errors=flaws_of(error)) from None


def _agreed(*, needed: bool) -> Callable[[KeptProfile | None], None]:
    def agreed(row: KeptProfile | None) -> None:
        check_conditions(None if row is None else {_tag(row.mark, form) for form in FORMS}, needed=needed)

    return agreed


def _tag(mark: str, form: str) -> str:
    """Two forms of one profile differ, and so do their strong entity tags (RFC 9110, section 8.8.3)."""
    return f"{mark[:32]}-{form.rpartition('/')[2]}"


def _no_such() -> Problem:
    known = list(known_profiles(owner()))
    detail = f"No profile has this id. There are {', '.join(known)}."
    return Problem(problems.NO_SUCH_PROFILE, detail, known=known)


def _in_short(known: KnownProfile) -> ProfileSummary:
    profile = known.profile
    return ProfileSummary(
        id=profile.id,
        name=profile.name,
        revision=profile.revision,
        unit=profile.unit,
        note=profile.note,
        source=known.source,
        shared=known.shared,
        link=_address_of(known),
    )


def _address_of(known: KnownProfile) -> str:
    return f"/v1/profiles/{known.profile.id}"
