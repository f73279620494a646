"""Tables of people, their sign-ins, links and tablets. Secrets and tokens are kept as hashes only."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index
from sqlalchemy.orm import Mapped, mapped_column

from scheduler.store.tables.base import Base


class PersonRow(Base):
    """Someone who may sign in; never removed, because events name them."""

    __tablename__ = "people"
    __table_args__ = (
        CheckConstraint("role IN ('manager', 'operator', 'front_desk', 'display')", name="role_known"),
    )

    id: Mapped[str] = mapped_column(primary_key=True)
    name: Mapped[str]
    role: Mapped[str]
    password_hash: Mapped[str | None]
    pin_hash: Mapped[str | None]
    active: Mapped[bool]
    made_at: Mapped[datetime]


class SignInSessionRow(Base):
    """A person at a browser, by the hash of its cookie."""

    __tablename__ = "sign_in_sessions"
    __table_args__ = (
        CheckConstraint("way IN ('password', 'pin', 'link', 'display')", name="way_known"),
        Index("ix_sign_in_sessions_person", "person"),
    )

    token_hash: Mapped[str] = mapped_column(primary_key=True)
    person: Mapped[str] = mapped_column(ForeignKey("people.id"))
    way: Mapped[str]
    made_at: Mapped[datetime]
    used_at: Mapped[datetime]
    ends_at: Mapped[datetime]


class SignInAttemptRow(Base):
    """A try with a password or a PIN; names that nobody has are kept as a hash."""

    __tablename__ = "sign_in_attempts"
    __table_args__ = (
        CheckConstraint("way IN ('password', 'pin', 'link')", name="way_known"),
        Index("ix_sign_in_attempts_name", "name"),
        Index("ix_sign_in_attempts_client", "client"),
    )

    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    name: Mapped[str]
    way: Mapped[str]
    client: Mapped[str]
    at: Mapped[datetime]
    good: Mapped[bool]


class SignInLinkRow(Base):
    """An address that signs a person in, by the hash of its token."""

    __tablename__ = "sign_in_links"
    __table_args__ = (Index("ix_sign_in_links_person", "person"),)

    token_hash: Mapped[str] = mapped_column(primary_key=True)
    person: Mapped[str] = mapped_column(ForeignKey("people.id"))
    once: Mapped[bool]
    made_at: Mapped[datetime]
    ends_at: Mapped[datetime]
    used_at: Mapped[datetime | None]


class SignInDeviceRow(Base):
    """A tablet on which people may switch by PIN, by the hash of its cookie."""

    __tablename__ = "sign_in_devices"

    number: Mapped[int] = mapped_column(primary_key=True, autoincrement=False)
    token_hash: Mapped[str]
    name: Mapped[str]
    person: Mapped[str] = mapped_column(ForeignKey("people.id"))
    made_at: Mapped[datetime]
    ends_at: Mapped[datetime]
