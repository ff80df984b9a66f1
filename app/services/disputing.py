"""Challenge an approved claim, and settle the challenge."""

from app.core import entries
from app.core.claim import Interest
from app.core.entries import named
from app.core.errors import CantrailError, Kind, invalid
from app.core.lifecycle import Event, State, after
from app.core.permissions import Scope, may_settle
from app.core.review import ClaimFacts, Dispute, DisputeState, Settlement
from app.persistence.queries import claims as queries
from app.persistence.queries import documents
from app.services import desk, desk_order, interests, superseding
from app.services.claims import claim_and_facts
from app.services.inputs import NewDispute, NewSettlement
from app.services.work import Work


def dispute(work: Work, claim_id: str, new: NewDispute) -> str:
    """Dispute an approved claim. With a held document it stops setting at once; without, the dispute is shown beside
    it and lapses. Gives the dispute's id."""
    work.require(Scope.SUBMIT)
    claim, facts = claim_and_facts(work.session, claim_id)
    after(claim.state, Event.DISPUTE)
    if new.document is not None:
        if not _is_held(work, new.document):
            raise invalid("/document", "no_such_document", f"No document {new.document} is held. File it first.")
    elif new.page is not None:
        raise invalid("/page", "no_document", "A page is of a document: name the document too.")
    if any(each.by == work.account and each.state is DisputeState.OPEN for each in claim.disputes):
        raise CantrailError(Kind.CONFLICT, "already_disputed", f"You are disputing {claim.id} already.")
    entry = work.enter(
        entries.ClaimDisputed(
            claim=claim.id,
            document=new.document,
            page=new.page,
            reason_sha256=work.text(new.reason) or "",
            interest=interests.own_interest(work, new.interest, facts, claim.subject, claim.publisher),
        ),
        [f"claim:{claim.id}", *work.streams_of(claim.subject)],
    )
    desk_order.look_at_dependents(work.session, claim.subject)
    return named(entries.DISPUTE, entry.seq)


def _is_held(work: Work, document: str | None) -> bool:
    row = None if document is None else documents.document(work.session, id=document)
    return row is not None and row.sha256 is not None and row.taken_down is None and work.store.exists(row.sha256)


def settle(work: Work, dispute_id: str, new: NewSettlement) -> str:
    """A fresh reviewer settles a dispute: one upholds the claim, two refute it. Gives the claim's id."""
    work.require(Scope.REVIEW)
    row = queries.dispute(work.session, id=dispute_id)
    if row is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_dispute", f"There is no dispute {dispute_id!r}.")
    claim, facts = claim_and_facts(work.session, row.claim)
    open_dispute = _of(claim, dispute_id)
    may_settle(work.account, claim, interested=interests.is_interested(work, claim, facts))
    if new.interest is not Interest.NONE:
        raise CantrailError(
            Kind.FORBIDDEN, "interest_declared", "You declared an interest in this figure. Somebody else settles it."
        )
    _check_open(claim, open_dispute)
    if new.settlement is Settlement.REFUTE and not _is_held(work, open_dispute.document):
        raise CantrailError(
            Kind.CONFLICT,
            "no_held_evidence",
            f"The document of {open_dispute.id} is held no more: {claim.id} is not refuted without it.",
        )
    after(claim.state, Event(new.settlement))
    _check_vote(work.account, open_dispute, new)
    work.enter(
        entries.DisputeSettled(
            dispute=dispute_id,
            claim=claim.id,
            settlement=new.settlement,
            code=new.code,
            reason_sha256=work.text(new.reason) or "",
        ),
        [f"claim:{claim.id}", *work.streams_of(claim.subject)],
    )
    settled, _ = claim_and_facts(work.session, claim.id)
    if settled.state is State.REJECTED:
        superseding.revive_instead_of(work, claim.subject, claim.id)
    superseding.supersede_where_due(work, claim.subject)
    desk.let_go(work, dispute_id)
    desk_order.relook(work.session, claim.subject)
    return claim.id


def _of(claim: ClaimFacts, dispute_id: str) -> Dispute:
    found = claim.dispute(dispute_id)
    if found is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_dispute", f"There is no dispute {dispute_id!r}.")
    return found


def _check_open(claim: ClaimFacts, found: Dispute) -> None:
    if found.state is not DisputeState.OPEN:
        raise CantrailError(Kind.CONFLICT, "not_now", f"{found.id} is {found.state}: it is settled already.")
    if found.document is None:
        raise CantrailError(
            Kind.CONFLICT,
            "no_held_evidence",
            f"{found.id} rests on no held document: {claim.id} stands, and the dispute lapses by itself.",
        )


def _check_vote(account: str, found: Dispute, new: NewSettlement) -> None:
    if any(vote.reviewer == account for vote in found.votes):
        raise CantrailError(Kind.CONFLICT, "already_voted", f"You have settled {found.id} already.")
    if new.settlement is Settlement.REFUTE and new.code is None:
        raise invalid("/code", "code_missing", "Say why, with a code, when you refute a claim.")
    if new.settlement is Settlement.UPHOLD and new.code is not None:
        raise invalid("/code", "no_code_here", "Only a refutation has a code.")
