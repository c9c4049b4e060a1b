"""The tables. Text and whole numbers only, so that SQLite and PostgreSQL hold the same."""
from __future__ import annotations

from sqlalchemy import ForeignKey, Text, UniqueConstraint
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column


class Base(DeclarativeBase):
    pass


class Meta(Base):
    """Facts about the database itself: its schema version, which demo jobs it was given, the desk's key, the secret."""

    __tablename__ = "meta"
    key: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[str] = mapped_column(Text)


class JobRow(Base):
    """A job; `arrived` is the arrival number of the last entry that came for it."""

    __tablename__ = "jobs"
    id: Mapped[str] = mapped_column(primary_key=True)
    created: Mapped[str]
    arrived: Mapped[int] = mapped_column(default=0, server_default="0")


class RevisionRow(Base):
    __tablename__ = "revisions"
    job_id: Mapped[str] = mapped_column(ForeignKey("jobs.id", ondelete="CASCADE"), primary_key=True)
    number: Mapped[int] = mapped_column(primary_key=True)
    spec: Mapped[str] = mapped_column(Text)
    digest: Mapped[str]
    created: Mapped[str]


class EntryRow(Base):
    """An entry of a job's field book as JSON, beside what it is found by."""

    __tablename__ = "entries"
    __table_args__ = (UniqueConstraint("job_id", "arrival", name="entries_in_order_of_arrival"),)
    job_id: Mapped[str] = mapped_column(ForeignKey("jobs.id", ondelete="CASCADE"), primary_key=True)
    id: Mapped[str] = mapped_column(primary_key=True)
    arrival: Mapped[int]
    body: Mapped[str] = mapped_column(Text)


class LinkRow(Base):
    """A crew link: who holds the token with this hash may work on the job, until it is withdrawn."""

    __tablename__ = "links"
    id: Mapped[str] = mapped_column(primary_key=True)
    job_id: Mapped[str] = mapped_column(ForeignKey("jobs.id", ondelete="CASCADE"), index=True)
    token_hash: Mapped[str] = mapped_column(unique=True)
    created: Mapped[str]
    withdrawn: Mapped[str | None]
