"""The web pages: choose a printer, give a file, watch, read; the list of one's inspections; signing in; how the
service stands.

Every page works without a script, offline and from the keyboard. The app registers ``blueprint``, and shows
``page_of_trouble`` for an error of an address that belongs to no room.
"""

from __future__ import annotations

from service.web import (
    callbacks,
    choose,
    desk,
    inspection,
    members,
    operator,
    own_printers,
    reading,
    shares,
    shelf,
    sign_in,
    tokens,
)
from service.web.author import blueprint as author_pages
from service.web.room import POLICY, blueprint, page_of_trouble
from service.web.shared import blueprint as shared_pages

__all__ = [
    "POLICY",
    "author_pages",
    "blueprint",
    "callbacks",
    "choose",
    "desk",
    "inspection",
    "members",
    "operator",
    "own_printers",
    "page_of_trouble",
    "reading",
    "shared_pages",
    "shares",
    "shelf",
    "sign_in",
    "tokens",
]
