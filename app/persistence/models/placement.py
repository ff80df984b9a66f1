"""Placements: what was proposed of subjects that are one, or are two, and what became of it."""

from sqlalchemy import Index
from sqlmodel import Field

from app.core.claim import SubjectKind
from app.core.placement import PlacementKind, PlacementState
from app.persistence.base import WORDS, EnumText, Packed, Row, one_of

IDS = Packed(tuple[str, ...])


class Placement(Row, table=True):
    """A merger of a subject into another, a split of claims and fitments onto another, or the undoing of either.
    `decided` is the entry by which it came into force, or was dropped."""

    __table_args__ = (
        one_of("kind", PlacementKind),
        one_of("state", PlacementState),
        one_of("subject_kind", SubjectKind),
        Index(None, "subject_kind", "subject_id"),
        Index(None, "subject_kind", "other_id"),
        Index(None, "state", "seq"),
    )

    id: str = Field(sa_type=WORDS, primary_key=True)
    seq: int = Field(unique=True)
    kind: PlacementKind = Field(sa_type=EnumText(PlacementKind))
    subject_kind: SubjectKind = Field(sa_type=EnumText(SubjectKind))
    subject_id: str = Field(sa_type=WORDS)
    other_id: str = Field(sa_type=WORDS)
    claims: tuple[str, ...] = Field(sa_type=IDS)
    fitments: tuple[str, ...] = Field(sa_type=IDS)
    undoes: str | None = Field(default=None, sa_type=WORDS)
    reason_sha256: str = Field(sa_type=WORDS)
    by: str = Field(sa_type=WORDS)
    at: str = Field(sa_type=WORDS)
    state: PlacementState = Field(sa_type=EnumText(PlacementState))
    decided: int | None = None
    decided_by: str | None = Field(default=None, sa_type=WORDS)
    decided_at: str | None = Field(default=None, sa_type=WORDS)
    decided_reason_sha256: str | None = Field(default=None, sa_type=WORDS)
