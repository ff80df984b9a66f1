"""Placements as they are sent: what was proposed of which subjects, and what became of it."""

import msgspec

from app.core.claim import Subject
from app.core.errors import CantrailError, Kind
from app.core.placement import PlacementState
from app.persistence.models import Placement
from app.persistence.queries import placements as queries
from app.persistence.session import AnySession
from app.services.views.records import Page, text_of


class PlacementView(msgspec.Struct, frozen=True):
    """A merger of `subject` into `other`, a split of claims and fitments from it onto `other`, or the undoing of either.

    `state` is `proposed`, `in_force`, `refused`, `withdrawn` or `undone`; `decided` is the entry that made it so.
    """

    id: str
    kind: str
    subject: Subject
    other: Subject
    claims: tuple[str, ...]
    fitments: tuple[str, ...]
    undoes: str | None
    reason: str | None
    state: str
    proposed_by: str
    proposed_at: str
    decided: int | None
    decided_by: str | None
    decided_at: str | None
    decided_reason: str | None


def placement_view(session: AnySession, id: str) -> PlacementView:
    """One placement. Raises not_found."""
    row = queries.placement(session, id=id)
    if row is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_placement", f"There is no placement {id!r}.")
    return _shown(session, row)


def placement_page(
    session: AnySession,
    *,
    after: int,
    limit: int,
    state: PlacementState | None,
    subject: Subject | None,
    newest_first: bool = False,
) -> Page[PlacementView]:
    """Placements, oldest first unless the newest are wanted first; in one state, or of one subject."""
    rows = queries.placements(
        session, after_seq=after, limit=limit + 1, newest_first=newest_first, state=state, subject=subject
    )
    shown = [_shown(session, row) for row in rows[:limit]]
    return Page(shown, str(rows[limit - 1].seq) if len(rows) > limit else None)


def _shown(session: AnySession, row: Placement) -> PlacementView:
    return PlacementView(
        id=row.id,
        kind=row.kind,
        subject=Subject(row.subject_kind, row.subject_id),
        other=Subject(row.subject_kind, row.other_id),
        claims=row.claims,
        fitments=row.fitments,
        undoes=row.undoes,
        reason=text_of(session, row.reason_sha256),
        state=row.state,
        proposed_by=row.by,
        proposed_at=row.at,
        decided=row.decided,
        decided_by=row.decided_by,
        decided_at=row.decided_at,
        decided_reason=text_of(session, row.decided_reason_sha256),
    )
