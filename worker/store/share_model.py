"""The row of a share link."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import Index, String
from sqlalchemy.orm import Mapped, mapped_column

from worker.store.models import Base, Instant


class Share(Base):
    """Leave for whoever has the link to read one inspection. Of the link's secret only the SHA-256 is kept."""

    __tablename__ = "shares"
    __table_args__ = (Index("shares_of_inspection", "inspection"), Index("shares_by_expiry", "expires_at"))

    id: Mapped[str] = mapped_column(String(30), primary_key=True)
    inspection: Mapped[str] = mapped_column(String(30))
    hash: Mapped[str] = mapped_column(String(64), unique=True)
    created_at: Mapped[datetime] = mapped_column(Instant)
    expires_at: Mapped[datetime] = mapped_column(Instant)
