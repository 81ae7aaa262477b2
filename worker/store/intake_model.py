"""How many files an owner has sent on a day."""

from __future__ import annotations

from datetime import date

from sqlalchemy import String
from sqlalchemy.orm import Mapped, mapped_column

from worker.store.models import Base


class Intake(Base):
    """The files that an owner has sent on one day (UTC). It counts those too that have been deleted since."""

    __tablename__ = "intakes"

    owner: Mapped[str] = mapped_column(String(30), primary_key=True)
    day: Mapped[date] = mapped_column(primary_key=True)
    files: Mapped[int]
