"""The desk's pages: titles, what comes in for them, letters and links to their authors."""

from __future__ import annotations

from service.web.desk import deletion, letters, links, standing, take_in, title_form, titles

__all__ = ["deletion", "letters", "links", "standing", "take_in", "title_form", "titles"]
