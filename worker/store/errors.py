"""What the store cannot do, each with a message for people."""

from __future__ import annotations

from typing import Literal

from sqlalchemy.exc import DBAPIError


class StoreError(Exception):
    """Any refusal of the store."""


class BadKey(StoreError):
    """No object of the store can have this key."""


class Missing(StoreError):
    """There is no object with this key."""


class TooLarge(StoreError):
    """More bytes arrived than the limit allows; ``limit`` is in bytes."""

    def __init__(self, limit: int) -> None:
        super().__init__(f"the file is larger than the {limit} bytes that this service takes")
        self.limit = limit


class BadCursor(StoreError):
    """A cursor of a list that this service never gave out."""


class NameTaken(StoreError):
    """A member or a token of this name is there already."""


class Ambiguous(StoreError):
    """Several things have this name; the message says how to tell them apart."""


class OverQuota(StoreError):
    """One more file would be more than its owner may have; ``which`` says of what, ``used`` and ``most`` how much."""

    def __init__(self, which: Literal["at-once", "a-day", "bytes"], used: int, most: int) -> None:
        super().__init__(f"over the quota ({which}): {used} of {most}")
        self.which = which
        self.used = used
        self.most = most


class TooManyShares(StoreError):
    """An inspection has as many share links as one may have."""


class StoreDown(StoreError):
    """The database or the place of the bytes does not answer; the message says which and why."""


class NoTitle(StoreError):
    """There is no such title, or none of the caller's."""


class Withdrawn(StoreError):
    """The title is withdrawn: it takes no file and no pass before it is taken up again."""


class AnotherFile(StoreError):
    """The pass was for a file that is not the title's last one."""


class LinkSpent(StoreError):
    """By this link as many files have come within a day as may; or it is in force no longer."""


def in_one_line(error: Exception) -> str:
    """What a database's own driver says, without the statement and without a page of advice."""
    said = error.orig if isinstance(error, DBAPIError) else error
    return next(iter(str(said).strip().splitlines()), type(error).__name__).rstrip(":;. ")
