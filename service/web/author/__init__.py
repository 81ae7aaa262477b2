"""An author's pages: by a link from the press, without an account, an author sends files of one title and reads their
reports. Nothing else is seen from here, and nothing leads from here to the press's own pages.
"""

from __future__ import annotations

from service.web.author import pages
from service.web.author.room import blueprint

__all__ = ["blueprint", "pages"]
