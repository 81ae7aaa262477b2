"""The commands about members and their access tokens, for whoever runs the service."""

# ruff: noqa: PLC0415 - what a call needs is imported when it is called: the command starts fast
from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, NoReturn

import click

from service.command_line import DATA, refuse, settings_at, store_at

if TYPE_CHECKING:
    from worker.store import Member, Scope, Store, Token

__all__ = ["member", "token"]

LONGEST_NAME = 100


@click.group()
def member() -> None:
    """Members of the service: let in, list, let go."""


@member.command("make")
@click.argument("name")
@click.option("--circle", default="house", show_default=True, help="Whom the member shares printer profiles with.")
@click.option("--operator", is_flag=True, help="Lets the member see how the whole service stands.")
@DATA
def member_make(name: str, circle: str, operator: bool, data: Path | None) -> None:
    """Let a member in; make its tokens with `token make`."""
    from worker.store import NameTaken

    try:
        made = store_at(data, may_begin=True).members.make(_name(name), circle=_name(circle), operator=operator)
    except NameTaken as error:
        refuse(str(error))
    click.echo(made.id)


@member.command("list")
@DATA
def member_list(data: Path | None) -> None:
    """Every member: its id, circle, name, and whether it is there still."""
    for each in store_at(data).members.all():
        standing = f"left {each.ended_at:%Y-%m-%d}" if each.ended_at else "operator" if each.operator else "member"
        click.echo(f"{each.id}  {standing:16}  {each.circle}  {each.name}")


@member.command("end")
@click.argument("name")
@DATA
def member_end(name: str, data: Path | None) -> None:
    """End a membership and all its tokens, by the member's name or id. What it sent stays until its days are over."""
    if not store_at(data).end_membership(name):
        refuse(f"there is no member {name!r}; `pressworthy member list` shows those that are")


@click.group()
def token() -> None:
    """Access tokens: make, list, revoke; and the secret by which the callbacks of one are signed."""


@token.command("make")
@click.argument("name")
@click.option("--member", "member_name", help="Whose it is; left out: the member of this name, who joins if need be.")
@click.option(
    "--scope",
    "scopes",
    multiple=True,
    type=click.Choice(["read", "submit", "manage"]),
    help="What it lets do; may be given several times. Left out: everything.",
)
@click.option("--days", type=click.IntRange(1, 3650), help="Days after which it ends by itself.")
@DATA
def token_make(
    name: str, member_name: str | None, scopes: tuple[Scope, ...], days: int | None, data: Path | None
) -> None:
    """Make a token and show it, once."""
    from worker.store import SCOPES, NameTaken

    store = store_at(data, may_begin=True)
    try:
        whose = _member_named(store, member_name).id if member_name is not None else None
        _, secret = store.tokens.make(_name(name), whose, scopes=scopes or SCOPES, days=days)
    except NameTaken as error:
        refuse(str(error))
    click.echo(secret)
    click.echo("Keep it now: it is not shown again.", err=True)


@token.command("list")
@DATA
def token_list(data: Path | None) -> None:
    """Every token: its id, member and name, whether it still opens the door, its scopes and its last use."""
    store = store_at(data)
    members = {each.id: each.name for each in store.members.all()}
    for each in store.tokens.all():
        used = f"used {each.last_used_at:%Y-%m-%d}" if each.last_used_at else "never used"
        scopes = ",".join(sorted(each.scopes))
        click.echo(f"{each.id}  {members.get(each.member, '')}: {each.name}  {_standing(each)}  {scopes}  {used}")


@token.command("revoke")
@click.argument("name")
@DATA
def token_revoke(name: str, data: Path | None) -> None:
    """Close the door to a token, by its name or id."""
    from worker.store import Ambiguous

    try:
        revoked = store_at(data).tokens.revoke(name)
    except Ambiguous as error:
        refuse(str(error))
    if not revoked:
        _no_such_token(name)


@token.command("callback-secret")
@click.argument("name")
@DATA
def token_callback_secret(name: str, data: Path | None) -> None:
    """Show the secret by which a token's callbacks are signed, by the token's name or id.

    The program that receives the calls needs it; the API tells it to the token itself. It is derived and kept nowhere:
    to have another, make another token.
    """
    from worker.callbacks.signing import callback_secret
    from worker.house_key import house_key
    from worker.limits import SettingsError
    from worker.store import Ambiguous

    try:
        found = store_at(data).tokens.named(name)
        key = house_key(settings_at(data).data)
    except (Ambiguous, SettingsError) as error:
        refuse(str(error))
    if found is None:
        _no_such_token(name)
    click.echo(callback_secret(key, found.id))


def _no_such_token(name: str) -> NoReturn:
    refuse(f"there is no token {name!r} in force; `pressworthy token list` shows those that are")


def _standing(token: Token) -> str:
    """Whether a token opens the door, and until when."""
    from worker.store.models import now

    if token.revoked_at is not None:
        return "revoked"
    if token.expires_at is None:
        return "in force"
    return f"{'in force until' if token.expires_at > now() else 'ended'} {token.expires_at:%Y-%m-%d}"


def _member_named(store: Store, name: str) -> Member:
    found = store.members.named(name)
    if found is None:
        refuse(f"there is no member {name!r}; `pressworthy member list` shows those that are")
    return found


def _name(given: str) -> str:
    """A name that shows on one line, or a refusal."""
    if not given.strip() or not given.isprintable() or len(given) > LONGEST_NAME:
        refuse(f"a name is of 1 to {LONGEST_NAME} characters on one line; {given[:40]!r} is not")
    return given.strip()
