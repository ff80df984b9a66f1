"""When two are one, and when one is two: a steward proposes it, somebody else confirms it, and it can be undone."""

from app.core import entries
from app.core.claim import Interest, Subject, SubjectKind
from app.core.entries import Payload, named
from app.core.errors import CantrailError, Kind, invalid
from app.core.permissions import Scope, may_govern
from app.core.placement import PlacementKind, PlacementState
from app.core.record import behind_both
from app.persistence import ledger
from app.persistence.models import Placement
from app.persistence.queries import claims as claim_queries
from app.persistence.queries import placements as queries
from app.persistence.queries import subjects
from app.persistence.session import AnySession
from app.services import interests, superseding
from app.services.facts import facts_about, makers_of, refuse_merged
from app.services.placing_inputs import Drop, NewMerger, NewSplit, NewUndoing
from app.services.work import Work


def propose_merger(work: Work, new: NewMerger) -> str:
    """Propose that two subjects are one. Nothing happens until somebody else confirms it. Gives the placement's id."""
    _may_propose(work)
    subject, into = check_merger(work.session, new)
    merger = entries.MergerProposed(subject=subject, into=into, reason_sha256=work.text(new.reason) or "")
    return _proposed(work, merger, subject, into)


def propose_split(work: Work, new: NewSplit) -> str:
    """Propose that some claims and fitments of a subject are another one's. Gives the placement's id."""
    _may_propose(work)
    subject, onto = check_split(work.session, new)
    claims, fitments = tuple(dict.fromkeys(new.claims)), tuple(dict.fromkeys(new.fitments))
    split = entries.SplitProposed(
        subject=subject, onto=onto, claims=claims, fitments=fitments, reason_sha256=work.text(new.reason) or ""
    )
    return _proposed(work, split, subject, onto)


def propose_undoing(work: Work, id: str, new: NewUndoing) -> str:
    """Propose that a merger or split in force was wrong. Gives the placement's id."""
    _may_propose(work)
    row = found(work.session, id)
    subject, other = check_undoing(work.session, row)
    undoing = entries.UndoingProposed(undoes=id, reason_sha256=work.text(new.reason) or "")
    return _proposed(work, undoing, subject, other)


def confirm(work: Work, id: str) -> None:
    """Agree with what somebody else proposed: it comes into force."""
    work.require(Scope.REVIEW)
    row = _open(work, id)
    if row.by == work.account:
        raise CantrailError(Kind.FORBIDDEN, "own_proposal", f"You proposed {id}. Somebody else confirms it.")
    _refuse_interested(work, row)
    subject, other = _pair(row)
    check_agreeing(work.session, row)
    no_more: list[str] = []
    match row.kind:
        case PlacementKind.MERGER:
            payload, further = _merger(work, row, subject, other), no_more
        case PlacementKind.SPLIT:
            payload, further = _split(work, row, subject, other)
        case PlacementKind.UNDOING:
            payload, further = _undoing(row, subject, other), no_more
    work.enter(payload, [f"placement:{id}", subject.stream, other.stream, *further])
    for each in (subject, other):
        now = queries.answered_as(work.session, subject=each)
        superseding.revive_parted(work, now)
        superseding.supersede_where_due(work, now)


def withdraw(work: Work, id: str, new: Drop) -> None:
    """Take back what one has proposed oneself."""
    work.require(Scope.SUBMIT)
    row = _open(work, id)
    if row.by != work.account:
        raise CantrailError(Kind.FORBIDDEN, "not_the_proposer", f"You did not propose {id}. You may refuse it.")
    _drop(work, row, new, refused=False)


def refuse(work: Work, id: str, new: Drop) -> None:
    """Refuse what somebody else proposed."""
    work.require(Scope.REVIEW)
    row = _open(work, id)
    if row.by == work.account:
        raise CantrailError(Kind.FORBIDDEN, "own_proposal", f"You proposed {id}. Withdraw it instead.")
    if new.reason is None:
        raise invalid("/reason", "missing", "Say why.")
    _drop(work, row, new, refused=True)


def found(session: AnySession, id: str) -> Placement:
    """A placement. Raises not_found."""
    row = queries.placement(session, id=id)
    if row is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_placement", f"There is no placement {id!r}.")
    return row


# What a placement does once it comes into force


def _merger(work: Work, row: Placement, subject: Subject, into: Subject) -> Payload:
    facts, _ = facts_about(work.session, into, beside=[subject])
    behind = behind_both(facts.records[subject], facts.records[into])
    return entries.SubjectsMerged(placement=row.id, subject=subject, into=into, confirmed_by=behind)


def _split(work: Work, row: Placement, subject: Subject, onto: Subject) -> tuple[Payload, list[str]]:
    placed = entries.ClaimsPlaced(
        placement=row.id, subject=subject, onto=onto, claims=row.claims, fitments=row.fitments
    )
    further = [f"claim:{each}" for each in row.claims]
    for each in row.fitments:
        further += work.streams_of(Subject(SubjectKind.FITMENT, each))
    return placed, list(dict.fromkeys(each for each in further if each not in {subject.stream, onto.stream}))


def _undoing(row: Placement, subject: Subject, other: Subject) -> Payload:
    return entries.PlacementUndone(placement=row.id, undoes=row.undoes or "", subject=subject, other=other)


# What is checked when it is proposed, and again when it comes into force


def check_merger(session: AnySession, new: NewMerger) -> tuple[Subject, Subject]:
    """The two subjects of a merger. Raises what would be refused if somebody proposed it now."""
    subject, into = Subject(SubjectKind(new.kind), new.subject), Subject(SubjectKind(new.kind), new.into)
    _check_pair(session, subject, into, "/into", PlacementKind.MERGER)
    return subject, into


def check_split(session: AnySession, new: NewSplit) -> tuple[Subject, Subject]:
    """The two subjects of a split. Raises what would be refused if somebody proposed it now."""
    subject, onto = Subject(SubjectKind(new.kind), new.subject), Subject(SubjectKind(new.kind), new.onto)
    _check_pair(session, subject, onto, "/onto", PlacementKind.SPLIT)
    claims, fitments = tuple(dict.fromkeys(new.claims)), tuple(dict.fromkeys(new.fitments))
    if not claims and not fitments:
        raise invalid("/claims", "nothing_moved", f"Name the claims and fitments that belong to {onto.id}.")
    _check_moved(session, subject, claims, fitments)
    return subject, onto


def check_undoing(session: AnySession, row: Placement) -> tuple[Subject, Subject]:
    """The two subjects of a merger or split. Raises what would be refused if somebody proposed now to undo it."""
    _check_undoable(row)
    subject, other = _pair(row)
    if queries.proposed(session, subject=subject, other=other, kind=PlacementKind.UNDOING) is not None:
        raise CantrailError(Kind.CONFLICT, "already_proposed", f"That {row.id} was wrong is proposed already.")
    return subject, other


def check_agreeing(session: AnySession, row: Placement) -> None:
    """Raises what would be refused, whoever it was, if somebody agreed with a proposal now."""
    if row.kind is PlacementKind.UNDOING:
        _check_undoable(found(session, row.undoes or ""))
        return
    subject, other = _pair(row)
    refuse_merged(session, subject, other)
    _check_moved(session, subject, row.claims, row.fitments)


def _may_propose(work: Work) -> None:
    work.require(Scope.SUBMIT)
    may_govern(work.caller.role)


def _check_pair(session: AnySession, subject: Subject, other: Subject, pointer: str, kind: PlacementKind) -> None:
    for place, each in (("/subject", subject), (pointer, other)):
        if not subjects.exists(session, subject=each):
            raise invalid(place, f"no_such_{each.kind}", f"There is no {each.kind} {each.id!r}.")
    if subject == other:
        raise invalid(pointer, "same_subject", "These are one already. Name two different ones.")
    refuse_merged(session, subject, other)
    known = queries.proposed(session, subject=subject, other=other, kind=kind)
    if known is not None:
        raise CantrailError(
            Kind.CONFLICT, "already_proposed", f"{known.id} proposes that of these two. Confirm or refuse it first."
        )


def _check_moved(session: AnySession, subject: Subject, claims: tuple[str, ...], fitments: tuple[str, ...]) -> None:
    """Raises for what is not the subject's to give away."""
    for place, id in enumerate(claims):
        claim = claim_queries.claim(session, id=id)
        if claim is None or (claim.subject_kind, claim.subject_id) != (subject.kind, subject.id):
            raise invalid(f"/claims/{place}", "no_such_claim", f"There is no claim {id} on {subject.id}.")
    if fitments and subject.kind not in {SubjectKind.VEHICLE, SubjectKind.CARRIER}:
        raise invalid("/fitments", "no_fitments_here", f"A {subject.kind} has no fitments of its own to move.")
    for place, id in enumerate(fitments):
        fitment = subjects.fitment(session, id=id)
        if fitment is None or subject.id != (
            fitment.vehicle if subject.kind is SubjectKind.VEHICLE else fitment.carrier
        ):
            raise invalid(f"/fitments/{place}", "no_such_fitment", f"There is no fitment {id} of {subject.id}.")


def _check_undoable(row: Placement) -> None:
    if row.state is not PlacementState.IN_FORCE or row.kind is PlacementKind.UNDOING:
        raise CantrailError(
            Kind.CONFLICT,
            "not_in_force",
            f"{row.id} is a {row.kind} and {row.state}: only a merger or split that is in force is undone.",
            details={"state": row.state},
        )


def _refuse_interested(work: Work, row: Placement) -> None:
    subject, other = _pair(row)
    makers: set[str] = set()
    for each in (subject, other):
        facts, _ = facts_about(work.session, each)
        makers |= makers_of(work.session, facts, each)
    if interests.interest_in(work, *makers) is not Interest.NONE:
        raise CantrailError(
            Kind.FORBIDDEN, "interest_declared", "You declared an interest in these. Somebody else confirms it."
        )


def _open(work: Work, id: str) -> Placement:
    row = found(work.session, id)
    if row.state is not PlacementState.PROPOSED:
        raise CantrailError(
            Kind.CONFLICT, "not_now", f"{id} is {row.state}: it waits for nobody.", details={"state": row.state}
        )
    return row


def _pair(row: Placement) -> tuple[Subject, Subject]:
    return Subject(row.subject_kind, row.subject_id), Subject(row.subject_kind, row.other_id)


def _proposed(work: Work, payload: Payload, subject: Subject, other: Subject) -> str:
    """Enter a proposal. It is in no subject's own stream: no answer depends on it."""
    id = named(entries.PLACEMENT, ledger.next_seq(work.session))
    work.enter(payload, [f"placement:{id}", f"{subject.stream}/placements", f"{other.stream}/placements"])
    return id


def _drop(work: Work, row: Placement, new: Drop, *, refused: bool) -> None:
    subject, other = _pair(row)
    work.enter(
        entries.PlacementDropped(placement=row.id, refused=refused, reason_sha256=work.text(new.reason)),
        [f"placement:{row.id}", f"{subject.stream}/placements", f"{other.stream}/placements"],
    )
