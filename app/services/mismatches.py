"""A steward looks at a blind reading beyond which a claim goes, and says what was wrong."""

from app.core import entries
from app.core.errors import CantrailError, Kind
from app.core.lifecycle import DEAD
from app.core.permissions import Scope, may_judge, may_judge_reading
from app.persistence.queries import claims as queries
from app.services import desk, interests
from app.services.claims import claim_and_facts
from app.services.inputs import NewMismatchJudgement
from app.services.work import Work


def judge(work: Work, reading_id: str, new: NewMismatchJudgement) -> str:
    """Enter what a steward found of a mismatch. The reading's points stay whatever is found; a claim that goes beyond
    its page is approved no further. Gives the claim's id."""
    work.require(Scope.REVIEW)
    may_judge(work.caller.role)
    row = queries.reading(work.session, id=reading_id)
    if row is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_reading", f"There is no reading {reading_id!r}.")
    claim, facts = claim_and_facts(work.session, row.claim)
    reading = next(each for each in claim.readings if each.id == reading_id)
    may_judge_reading(work.account, claim, reading, interested=interests.is_interested(work, claim, facts))
    if reading.matches or claim.state in DEAD:
        raise CantrailError(
            Kind.CONFLICT,
            "not_now",
            f"There is nothing to judge: {claim.id} stays within {reading.id}, or it stands no more.",
        )
    if any((each.reading, each.steward) == (reading.id, work.account) for each in claim.judgements):
        raise CantrailError(Kind.CONFLICT, "already_judged", f"You have judged {reading.id}. Your finding stands.")
    work.enter(
        entries.MismatchJudged(
            claim=claim.id,
            reading=reading.id,
            finding=new.finding,
            reason_sha256=work.text(new.reason) or "",
        ),
        [f"claim:{claim.id}", *work.streams_of(claim.subject)],
    )
    desk.let_go(work, reading.id)
    return claim.id
