"""Enter claims with their evidence, add to the evidence, and take a claim back."""

from collections.abc import Sequence

import msgspec

from app.core import entries
from app.core.allowance import Submitted
from app.core.claim import SourceType, Statement, Subject, factor_of, total_grams
from app.core.derived import Derivation
from app.core.desk import may_be_lowered
from app.core.dossier import Facts
from app.core.entries import named
from app.core.errors import CantrailError, Kind, invalid
from app.core.evidence import Cited, DocumentKind, misfit
from app.core.lifecycle import Event, after
from app.core.mass import SAME_WITHIN_G, Unit
from app.core.permissions import Scope, may_withdraw
from app.core.review import ClaimFacts
from app.persistence import ledger
from app.persistence.models import Document
from app.persistence.queries import claims as queries
from app.persistence.queries import documents, subjects
from app.persistence.session import AnySession
from app.services import deriving, desk_order, interests, page_reading, superseding
from app.services.facts import facts_about, maker_of, not_found, refuse_merged
from app.services.inputs import DerivationIn, NewCitation, NewClaim
from app.services.stating import scope, statement
from app.services.work import Work


def submit(work: Work, new: NewClaim) -> str:
    """Enter a claim with its citations, all in one transaction. Gives its id."""
    work.require(Scope.SUBMIT)
    work.spend(Submitted.CLAIMS)
    subject = Subject(new.subject.kind, new.subject.id)
    facts, _ = facts_about(work.session, subject)
    if subject not in facts.records:
        raise invalid("/subject/id", f"no_such_{subject.kind}", str(not_found(subject)))
    refuse_merged(work.session, subject)
    derivation: Derivation | None = None
    if new.derivation is not None:
        new, derivation = _derived(work, new, new.derivation, subject)
    said = statement(new, subject.kind, new.quantity)
    cited = [_document(work, citation, f"/citations/{place}") for place, citation in enumerate(new.citations)]
    _check_source(work, new.source_type, maker_of(work.session, facts, subject), cited, derived=derivation is not None)
    # Nothing yields to what is worked back: its author chooses which of its pages is cited first.
    publisher = cited[0].publisher if cited and derivation is None else None
    interest = interests.own_interest(work, new.interest, facts, subject, publisher)
    id = named(entries.CLAIM, ledger.next_seq(work.session))
    if new.supersedes is not None:
        proposed = ClaimFacts(
            id=id,
            seq=0,
            subject=subject,
            statement=said,
            source_type=new.source_type,
            publisher=publisher,
            author=work.account,
            interest=interest,
            submitted_at="",
            supersedes=new.supersedes,
            answers_rejection=None,
            answer_sha256=None,
        )
        superseding.check(facts.claims.get(new.supersedes), proposed)
    _check_rejections(work, new, said, subject, facts, cited)
    streams = [f"claim:{id}", *work.streams_of(subject)]
    work.enter(
        entries.ClaimSubmitted(
            subject=subject,
            statement=said,
            source_type=new.source_type,
            publisher=publisher,
            interest=interest,
            supersedes=new.supersedes,
            answers_rejection=new.answers_rejection,
            answer_sha256=work.text(new.answer),
        ),
        streams,
    )
    for citation in new.citations:
        _cite(work, id, citation, streams, later=False)
    if derivation is not None:
        work.enter(entries.ClaimDerived(claim=id, derivation=derivation), streams)
    if may_be_lowered(facts, subject):
        desk_order.entered(work.session, subject, id)
    return id


def _derived(work: Work, new: NewClaim, given: DerivationIn, subject: Subject) -> tuple[NewClaim, Derivation]:
    """A claim with what its derivation gives, and the derivation as it is kept."""
    deriving.check_derivable(subject, new.quantity)
    deriving.check_cited(given)
    found = deriving.work_out(work.session, given, subject, new.condition, scope(new.scope), pointer=deriving.AT)
    deriving.check_scope(found, scope(new.scope))
    deriving.check_no_cycle(found.facts, found.derivation, new.supersedes)
    filled = deriving.stated_with(new, found.found)
    cited = deriving.citations(given, new.citations)
    return msgspec.structs.replace(filled, citations=cited), found.derivation


def cite(work: Work, claim_id: str, new: NewCitation) -> None:
    """Add a citation to a claim before any approval."""
    work.require(Scope.SUBMIT)
    claim, _ = claim_and_facts(work.session, claim_id)
    after(claim.state, Event.ADD_EVIDENCE)
    _document(work, new, "")
    place = (new.document, new.page, new.locator, work.text(new.quote))
    if any((each.document, each.page, each.locator, each.quote_sha256) == place for each in claim.citations):
        raise CantrailError(Kind.CONFLICT, "already_cited", f"{claim.id} already cites this place in these words.")
    _cite(work, claim.id, new, [f"claim:{claim.id}", *work.streams_of(claim.subject)], later=True)


def withdraw(work: Work, claim_id: str) -> None:
    """Take back one's own claim, before any approval."""
    work.require(Scope.SUBMIT)
    claim, _ = claim_and_facts(work.session, claim_id)
    may_withdraw(work.account, claim)
    after(claim.state, Event.WITHDRAW)
    work.enter(entries.ClaimWithdrawn(claim=claim.id), [f"claim:{claim.id}", *work.streams_of(claim.subject)])


def claim_and_facts(session: AnySession, claim_id: str) -> tuple[ClaimFacts, Facts]:
    """A claim as the ledger has it, with the facts around its subject. Raises not_found."""
    subject = queries.subject_of(session, claim=claim_id)
    if subject is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_claim", f"There is no claim {claim_id!r}.")
    facts, _ = facts_about(session, subject)
    return facts.claims[claim_id], facts


def _document(work: Work, citation: NewCitation, pointer: str) -> Document:
    found = documents.document(work.session, id=citation.document)
    if found is None:
        raise invalid(f"{pointer}/document", "no_such_document", f"There is no document {citation.document}.")
    if found.taken_down is not None:
        raise invalid(
            f"{pointer}/document", "taken_down", f"{found.id} was taken down. Cite a document whose file is held."
        )
    return found


def _cite(work: Work, claim_id: str, new: NewCitation, streams: Sequence[str], *, later: bool) -> None:
    entry = work.enter(
        entries.CitationAdded(
            claim=claim_id,
            document=new.document,
            page=new.page,
            locator=new.locator,
            quote_sha256=work.text(new.quote),
            later=later,
        ),
        [*streams, f"document:{new.document}/cited"],
    )
    page_reading.ask_to_look(work, new.document, named(entries.CITATION, entry.seq))


def _check_source(work: Work, source_type: SourceType, maker: str, cited: Sequence[Document], *, derived: bool) -> None:
    found = []
    for document in cited:
        publisher = subjects.publisher(work.session, slug=document.publisher)
        importer_of = publisher.importer_of if publisher else ()
        found.append(Cited(DocumentKind(document.kind), document.publisher, tuple(importer_of)))
    problem = misfit(source_type, maker, found, derived=derived)
    if problem is not None:
        raise invalid("/source_type", "source_type_misfit", problem)


def _check_rejections(
    work: Work, new: NewClaim, said: Statement, subject: Subject, facts: Facts, cited: Sequence[Document]
) -> None:
    """The same root and figure cannot be entered again unless the reason of the rejection is answered."""
    roots = {document.sha256 or document.id for document in cited}
    rejected = [
        found.claim.id
        for found in queries.rejected_like(
            work.session, subject=subject, quantity=said.quantity, condition=said.condition
        )
        if _same_figure(said, found.claim.statement, facts, subject)
        and (found.roots & roots or not (found.roots or roots))
    ]
    if new.answers_rejection is not None:
        if new.answers_rejection not in rejected:
            raise invalid(
                "/answers_rejection", "not_rejected", f"{new.answers_rejection} is no rejected claim like this one."
            )
        if new.answer is None:
            raise invalid(
                "/answer", "answer_missing", "Say in `answer` why the reason of that rejection does not hold."
            )
    elif rejected:
        raise CantrailError(
            Kind.CONFLICT,
            "rejected_before",
            f"This figure from this source was rejected as {rejected[-1]}. Read why; if that does not hold, send it "
            "again with answers_rejection and an answer.",
            details={"rejected": rejected},
        )


def _same_figure(one: Statement, other: Statement, facts: Facts, subject: Subject) -> bool:
    if one.stated.unit is Unit.FACTOR or other.stated.unit is Unit.FACTOR:
        return factor_of(one) == factor_of(other)
    counts = facts.counts_for(subject)
    here, there = total_grams(one, counts), total_grams(other, counts)
    if here is None or there is None:
        return one.stated == other.stated
    return abs(here - there) <= SAME_WITHIN_G
