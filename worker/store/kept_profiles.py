"""The row of a member's own printer profile."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from sqlalchemy import Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from worker.store.models import Base, Instant

__all__ = ["KeptProfile", "Shared"]

Shared = Literal["private", "circle"]


class KeptProfile(Base):
    """A profile of one owner. Read only: change it through ``Profiles``.

    ``toml`` is what people go on from, as they sent it; ``json`` is the same profile as it is judged by. ``circle`` is
    the circle that it is shared with, None where it is the owner's alone; within a circle an id is shared once.
    ``mark`` changes with what it says and with whom it is shared.
    """

    __tablename__ = "profiles"
    __table_args__ = (Index("profiles_of_circle", "circle", "id", unique=True),)

    owner: Mapped[str] = mapped_column(String(30), primary_key=True)
    id: Mapped[str] = mapped_column(String(64), primary_key=True)
    circle: Mapped[str | None] = mapped_column(String(100))
    toml: Mapped[str] = mapped_column(Text)
    json: Mapped[str] = mapped_column(Text)
    mark: Mapped[str] = mapped_column(String(64))
    created_at: Mapped[datetime] = mapped_column(Instant)
    changed_at: Mapped[datetime] = mapped_column(Instant)

    @property
    def shared(self) -> Shared:
        """With whom it is shared."""
        return "private" if self.circle is None else "circle"
