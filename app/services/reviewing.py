"""The blind reading, and then the decision."""

from app.core import entries
from app.core.comparison import differences
from app.core.derived import Derivation
from app.core.desk import renewed_by
from app.core.dossier import Facts
from app.core.entries import named
from app.core.errors import CantrailError, Kind, invalid
from app.core.lifecycle import DEAD, Event, State, after
from app.core.mismatch import stops_approval
from app.core.permissions import Scope, may_decide, may_read
from app.core.review import APPROVALS_TO_SET, ClaimFacts, Decision
from app.persistence import projection
from app.services import deriving, desk, desk_order, interests, superseding
from app.services.claims import claim_and_facts
from app.services.inputs import Confirmation, NewDecision, NewReading
from app.services.stating import scope, statement
from app.services.subjects import confirm
from app.services.work import Work


def read(work: Work, claim_id: str, new: NewReading) -> str:
    """Key what the evidence says, once for each claim; only then is the claim shown. Gives the reading's id."""
    work.require(Scope.REVIEW)
    claim, facts = claim_and_facts(work.session, claim_id)
    may_read(work.account, claim, interested=interests.is_interested(work, claim, facts))
    if claim.state in DEAD or claim.state is State.DISPUTED:
        raise CantrailError(
            Kind.CONFLICT, "not_now", f"{claim.id} is {claim.state}: there is nothing to read it for now."
        )
    if claim.reading_by(work.account) is not None:
        raise CantrailError(
            Kind.CONFLICT, "already_read", f"You have read {claim.id}. A blind reading is keyed once, and stands."
        )
    desk.refuse_reading_held(work, claim.id)
    rows: Derivation | None = None
    if claim.derivation is not None:
        new, rows = _rows_read(work, claim, new)
    elif new.derivation is not None:
        raise invalid("/derivation", "no_derivation_here", f"{claim.id} states a figure: key the figure that you read.")
    read_as = statement(new, claim.subject.kind, claim.statement.quantity)
    found = differences(claim.statement, read_as, facts.counts_for(claim.subject))
    entry = work.enter(
        entries.ReadingKeyed(claim=claim.id, statement=read_as, differences=found, derivation=rows),
        [f"claim:{claim.id}", *work.streams_of(claim.subject)],
    )
    superseding.supersede_where_due(work, claim.subject)
    return named(entries.REVIEW, entry.seq)


def _rows_read(work: Work, claim: ClaimFacts, new: NewReading) -> tuple[NewReading, Derivation]:
    """A reading of what is worked back: the figure follows from the rows that the reviewer read."""
    if new.derivation is None:
        raise invalid(
            "/derivation",
            "derivation_missing",
            f"The figure of {claim.id} is worked back. Key the rows that you read on its pages, or what it takes in.",
        )
    found = deriving.work_out(work.session, new.derivation, claim.subject, None, scope(new.scope), pointer=deriving.AT)
    return deriving.stated_with(new, found.found), found.derivation


def decide(work: Work, claim_id: str, new: NewDecision) -> None:
    """Decide on a claim. To approve takes one's own matching reading; to reject, a code."""
    work.require(Scope.REVIEW)
    claim, facts = claim_and_facts(work.session, claim_id)
    approving = new.decision is Decision.APPROVE
    interested = interests.is_interested(work, claim, facts)
    may_decide(work.account, claim, new.interest, approving=approving, interested=interested)
    after(claim.state, Event(new.decision))
    if approving:
        _check_reading(work.account, claim, new.reading)
        _check_held(claim, facts)
        _check_not_stopped(claim)
    elif new.reading is not None and not _own(work.account, claim, new.reading):
        raise invalid("/reading", "no_such_reading", f"You have no reading {new.reading} of {claim.id}.")
    _check_code(new)
    work.enter(
        entries.ClaimDecided(
            claim=claim.id,
            reading=new.reading,
            decision=new.decision,
            code=new.code,
            reason_sha256=work.text(new.reason) or "",
            interest=new.interest,
        ),
        [f"claim:{claim.id}", *work.streams_of(claim.subject)],
    )
    if new.confirms_record:
        document = claim.citations[0].document if claim.citations else None
        confirm(work, claim.subject, Confirmation(document=document))
    _follow_up(work, claim_id)


def _follow_up(work: Work, claim_id: str) -> None:
    """What a decision brings about: a claim read afresh begins its time again, one that sets takes another's place, and
    the desk is put in order."""
    claim = projection.claim_now(work.session, claim_id)
    if renewed_by(claim):
        work.enter(entries.ClaimRenewed(claim=claim.id), [f"claim:{claim.id}", *work.streams_of(claim.subject)])
    superseding.supersede_where_due(work, claim.subject)
    desk.let_go(work, claim.id)
    if len(claim.approvals) >= APPROVALS_TO_SET:
        desk_order.relook(work.session, claim.subject)


def _own(account: str, claim: ClaimFacts, reading: str) -> bool:
    own = claim.reading_by(account)
    return own is not None and own.id == reading


def _check_reading(account: str, claim: ClaimFacts, reading: str | None) -> None:
    own = claim.reading_by(account)
    if own is None:
        raise CantrailError(
            Kind.CONFLICT,
            "not_read",
            f"Read the evidence of {claim.id} first, without looking at what is claimed: POST its readings.",
        )
    if reading != own.id:
        raise invalid("/reading", "no_such_reading", f"Your reading of {claim.id} is {own.id}.")
    if not own.matches:
        raise CantrailError(
            Kind.CONFLICT,
            "reading_differs",
            f"The claim goes beyond your reading in: {', '.join(own.differences)}. Reject it, ask for evidence, or "
            "leave it to a steward.",
            details={"differences": list(own.differences)},
        )


def _check_held(claim: ClaimFacts, facts: Facts) -> None:
    """What is approved is what was read: a page that is only fetched later may say something else."""
    if claim.citations and not any(facts.roots_of(claim).values()):
        raise CantrailError(
            Kind.CONFLICT,
            "not_held",
            f"Nothing that {claim.id} cites is held yet. Wait until its address was fetched, or ask for a copy.",
        )


def _check_not_stopped(claim: ClaimFacts) -> None:
    if stops_approval(claim.judgements):
        raise CantrailError(
            Kind.CONFLICT,
            "goes_beyond",
            f"A steward found that {claim.id} goes beyond what a reviewer read on its page: it is approved no further. "
            "Reject it, or enter a claim that stays within the page.",
        )


def _check_code(new: NewDecision) -> None:
    if new.decision is Decision.REJECT and new.code is None:
        raise invalid("/code", "code_missing", "Say why, with a code, when you reject a claim.")
    if new.decision is not Decision.REJECT and new.code is not None:
        raise invalid("/code", "no_code_here", "Only a rejection has a code.")
