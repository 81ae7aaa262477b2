"""The row of a callback: made with its inspection, due once that has ended."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from sqlalchemy import Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from worker.store.models import Base, Instant

DeliveryState = Literal["asked", "waiting", "delivered", "given-up"]


class Delivery(Base):
    """One call for one inspection. Read only: change it through ``Callbacks``.

    Its id is the ``webhook-id``, the same in every try. ``signer`` is whose secret signs it, ``key_mark`` the mark of
    the house's key that the secret was told from. ``body`` is what is sent, as it was at the first try. ``attempts``
    counts all tries, ``series_from`` those before the present series of them began. ``lease_until`` is how long a try
    may take before its worker is taken for gone. Of an answer only ``last_status`` is kept.
    """

    __tablename__ = "deliveries"
    __table_args__ = (
        Index("deliveries_of_inspection", "inspection_id", unique=True),
        Index("deliveries_due", "state", "next_at"),
    )

    id: Mapped[str] = mapped_column(String(30), primary_key=True)
    inspection_id: Mapped[str] = mapped_column(String(30))
    owner: Mapped[str] = mapped_column(String(30))
    signer: Mapped[str] = mapped_column(String(30))
    key_mark: Mapped[str] = mapped_column(String(16))
    url: Mapped[str] = mapped_column(Text)
    state: Mapped[DeliveryState] = mapped_column(String(10))
    body: Mapped[str | None] = mapped_column(Text)
    attempts: Mapped[int] = mapped_column(default=0)
    series_from: Mapped[int] = mapped_column(default=0)
    created_at: Mapped[datetime] = mapped_column(Instant)
    next_at: Mapped[datetime | None] = mapped_column(Instant)
    lease_until: Mapped[datetime | None] = mapped_column(Instant)
    last_at: Mapped[datetime | None] = mapped_column(Instant)
    last_status: Mapped[int | None]
    last_problem: Mapped[str | None] = mapped_column(Text)
    delivered_at: Mapped[datetime | None] = mapped_column(Instant)
