"""The keys of the objects that an inspection owns: ``inspections/{id}/...``."""

from __future__ import annotations

import re
from typing import Literal

from worker.store.errors import BadKey

_ID = r"ins_[a-z2-7]{26}"
_PAGE = r"pages/[1-9][0-9]{0,6}\.(png|undrawn\.json)"
_PROOF = r"proof\.(pdf|unproved\.json)"
_READ = r"(measurements|lines|book|traces)\.json"
_OBJECT = rf"(file\.pdf|{_READ}|report\.json|report\.html|report\.pictured\.html|{_PROOF}|{_PAGE})"
_KEY = re.compile(rf"inspections/{_ID}/{_OBJECT}", re.ASCII)


def file_key(inspection_id: str) -> str:
    """The uploaded PDF."""
    return checked(f"inspections/{inspection_id}/file.pdf")


def measurements_key(inspection_id: str) -> str:
    """The measurements without the pages' lines of text, JSON."""
    return checked(f"inspections/{inspection_id}/measurements.json")


def lines_key(inspection_id: str) -> str:
    """The lines of text of every page, JSON: an array a page."""
    return checked(f"inspections/{inspection_id}/lines.json")


def book_key(inspection_id: str) -> str:
    """How the book is built, JSON."""
    return checked(f"inspections/{inspection_id}/book.json")


def traces_key(inspection_id: str) -> str:
    """The traces of all pages, JSON: a short text a page."""
    return checked(f"inspections/{inspection_id}/traces.json")


def report_key(inspection_id: str, kind: Literal["json", "html"] = "json") -> str:
    """The report, as data or as a page."""
    return checked(f"inspections/{inspection_id}/report.{kind}")


def pictured_key(inspection_id: str) -> str:
    """The report as a page with pictures of the book's worst pages; it takes the place of the one without."""
    return checked(f"inspections/{inspection_id}/report.pictured.html")


def picture_key(inspection_id: str, page: int) -> str:
    """The picture of a page (from 1), PNG."""
    return checked(f"inspections/{inspection_id}/pages/{page}.png")


def undrawn_key(inspection_id: str, page: int) -> str:
    """Why the picture of a page (from 1) cannot be had, JSON; there only where it cannot."""
    return checked(f"inspections/{inspection_id}/pages/{page}.undrawn.json")


def proof_key(inspection_id: str) -> str:
    """The proof: the book with its marks and notes, PDF."""
    return checked(f"inspections/{inspection_id}/proof.pdf")


def unproved_key(inspection_id: str) -> str:
    """Why the proof cannot be had, JSON; there only where it cannot."""
    return checked(f"inspections/{inspection_id}/proof.unproved.json")


def prefix_of(inspection_id: str) -> str:
    """Where all objects of an inspection are, with a slash at the end. Raises :class:`BadKey`."""
    if not re.fullmatch(_ID, inspection_id, re.ASCII):
        raise BadKey(f"{inspection_id!r} is no inspection's id")
    return f"inspections/{inspection_id}/"


def pictures_prefix(inspection_id: str) -> str:
    """Where the pictures of its pages are, with a slash at the end. Raises :class:`BadKey`."""
    return f"{prefix_of(inspection_id)}pages/"


def checked(key: str) -> str:
    """``key`` itself if it is one of ours: no other path is ever read or written. Raises :class:`BadKey`."""
    if not _KEY.fullmatch(key):
        raise BadKey(f"{key!r} is no key of the store")
    return key
