"""The keys of the objects that an inspection owns: ``inspections/{id}/...``."""

from __future__ import annotations

import re

_KEY = re.compile(
    r"inspections/ins_[a-z0-9]{26}/(file\.pdf|measurements\.json|report\.json|report\.html|pages/[1-9][0-9]{0,5}\.png)"
)
_ID = re.compile(r"ins_[a-z0-9]{26}")


class BadKey(ValueError):
    """No object of the store can have this key."""


def file_key(inspection_id: str) -> str:
    """The uploaded PDF."""
    return checked(f"inspections/{inspection_id}/file.pdf")


def measurements_key(inspection_id: str) -> str:
    """The measurements, JSON."""
    return checked(f"inspections/{inspection_id}/measurements.json")


def report_key(inspection_id: str, kind: str = "json") -> str:
    """The report; ``kind`` is ``json`` or ``html``."""
    return checked(f"inspections/{inspection_id}/report.{kind}")


def picture_key(inspection_id: str, page: int) -> str:
    """The picture of a page (from 1), PNG."""
    return checked(f"inspections/{inspection_id}/pages/{page}.png")


def prefix_of(inspection_id: str) -> str:
    """Where all objects of an inspection are, with a slash at the end. Raises :class:`BadKey`."""
    if not _ID.fullmatch(inspection_id):
        raise BadKey(f"{inspection_id!r} is no inspection's id")
    return f"inspections/{inspection_id}/"


def checked(key: str) -> str:
    """``key`` itself if it is one of ours: no other path is ever read or written. Raises :class:`BadKey`."""
    if not _KEY.fullmatch(key):
        raise BadKey(f"{key!r} is no key of the store")
    return key
