"""Where a claim comes from, in the words of W3C PROV: from the claim back through what it is worked back from, what it
cites, how that was fetched and read, who decided what on it, and where it was placed. Sent as PROV-JSON.

Each entry of the ledger is one activity, under its number. Accounts are agents by their pseudonyms, and publishers by
their slugs. No text and no name is in it: what people wrote is there by its hash.
"""

from collections.abc import Sequence
from typing import Final

from app.core import entries
from app.core.entries import METHOD_STREAM, Entry, named
from app.core.errors import CantrailError, Kind
from app.core.evidence import PublisherKind
from app.core.review import ClaimFacts, claim_facts
from app.persistence import ledger
from app.persistence.queries import claims as claim_queries
from app.persistence.queries import placements, subjects
from app.persistence.session import AnySession
from app.services.provenance_writing import Said, Writing

MOST_ENTRIES: Final = 5000

_OF_DOCUMENTS: Final = (
    entries.DocumentAdded,
    entries.DocumentAddressed,
    entries.SnapshotKept,
    entries.PagesRead,
    entries.CopyJudged,
    entries.DocumentTakenDown,
)
"""What is told of a document. That its address was asked again and said the same is not."""


def provenance(session: AnySession, claim: str) -> str:
    """A claim's provenance as PROV-JSON. Raises not_found, and `provenance_too_large`."""
    if claim_queries.claim(session, id=claim) is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_claim", f"There is no claim {claim!r}.")
    adopted = ledger.entries_of(session, streams=[METHOD_STREAM], up_to=None)
    writing = Writing([entry for entry in adopted if isinstance(entry.payload, entries.MethodAdopted)])
    _Telling(session, writing).claim(claim)
    return writing.text()


class _Telling:
    """Reads what is to be told, sources first, and has it written."""

    def __init__(self, session: AnySession, writing: Writing) -> None:
        self._session = session
        self._write = writing
        self._whole: set[str] = set()

    def claim(self, id: str) -> None:
        """A claim with its whole history, and all that it comes from."""
        if id in self._whole:
            return
        self._whole.add(id)
        history = self._read(f"claim:{id}")
        facts = claim_facts(history)
        self._come_from(facts)
        for entry in history:
            self._happened(facts, entry)
        self._stands(facts, history)
        self._placed(facts)

    def _come_from(self, claim: ClaimFacts) -> None:
        """What has to be there before the claim: the documents and claims that it rests on."""
        taken = () if claim.derivation is None else claim.derivation.takes
        for each in taken:
            self.claim(each.claim)
        rows = () if claim.derivation is None else claim.derivation.rows
        cited = [citation.document for citation in claim.citations]
        cited += [row.cites.document for row in rows if row.cites is not None]
        cited += [dispute.document for dispute in claim.disputes if dispute.document is not None]
        for document in dict.fromkeys(cited):
            self._filed(document)

    def _filed(self, id: str) -> None:
        """A document with what happened to it."""
        if id in self._whole:
            return
        self._whole.add(id)
        for entry in self._read(f"document:{id}"):
            payload = entry.payload
            if isinstance(payload, _OF_DOCUMENTS) and id in _documents_of(entry):
                self._happened_to_document(entry)

    def _read(self, stream: str) -> list[Entry]:
        found = ledger.entries_of(self._session, streams=[stream], up_to=None)
        if self._write.entries + len(found) > MOST_ENTRIES:
            raise CantrailError(
                Kind.TOO_LARGE,
                "provenance_too_large",
                f"More than {MOST_ENTRIES} entries stand behind this. Ask for the history of each claim instead.",
            )
        return found

    # Entries as activities

    def _happened_to_document(self, entry: Entry) -> None:
        if not self._write.activity(entry):
            return
        write = self._write
        match entry.payload:
            case entries.DocumentAdded() | entries.DocumentAddressed() as filed:
                sha256 = filed.sha256 if isinstance(filed, entries.DocumentAdded) else None
                said: Said = {"kind": filed.kind, "sha256": sha256, "title_sha256": filed.title_sha256}
                document = named(entries.DOCUMENT, entry.seq)
                write.made(entry, document, "Document", said)
                self._published(document, filed.publisher)
            case entries.SnapshotKept() as kept:
                write.made(entry, f"snapshot/{entry.seq}", "Snapshot", {"sha256": kept.sha256})
                write.special(f"snapshot/{entry.seq}", kept.document, "Document")
            case entries.PagesRead() as read:
                write.used(entry, [read.document], "Document")
                found: Said = {"of_sha256": read.sha256, "source": read.source, "pages": read.pages}
                how: Said = {**found, "sha256": read.text_sha256, "failure": read.failure}
                write.made(entry, f"text/{entry.seq}", "Text", how)
                write.derived(f"text/{entry.seq}", [read.document])
            case entries.CopyJudged() as judged:
                write.used(entry, [judged.document, judged.of], "Document")
                write.made(entry, f"copy/{entry.seq}", "CopyJudgement", {"copied": judged.copied})
                write.derived(f"copy/{entry.seq}", [judged.document, judged.of])
            case entries.DocumentTakenDown() as taken:
                why: Said = {"code": taken.code, "reason_sha256": taken.reason_sha256}
                write.used(entry, [taken.document], "Document", why)
            case _:
                pass

    def _happened(self, claim: ClaimFacts, entry: Entry) -> None:
        if not self._write.activity(entry):
            return
        match entry.payload:
            case entries.ClaimSubmitted():
                self._submitted(claim, entry)
            case entries.CitationAdded() | entries.ClaimDerived() | entries.CitationRead() | entries.EvidenceChanged():
                self._evidenced(claim, entry)
            case entries.ClaimSuperseded(claim=old, by=new) | entries.ClaimRevived(claim=old, instead_of=new):
                self._write.used(entry, [old, new], "Claim")
            case _:
                self._write.used(entry, [claim.id], "Claim")
                self._reviewed(claim, entry)

    def _submitted(self, claim: ClaimFacts, entry: Entry) -> None:
        said = claim.statement
        stated: Said = {
            "subject": claim.subject.stream,
            "quantity": said.quantity,
            "condition": said.condition,
            "stated": None if said.stated is None else said.stated.value,
            "unit": None if said.stated is None else said.stated.unit,
            "basis": said.basis,
            "bound": said.bound,
            "source_type": claim.source_type,
            "interest": claim.interest,
        }
        self._write.made(entry, claim.id, "Claim", stated)
        self._write.by_account(claim.id, entry.actor)
        if claim.publisher is not None:
            self._published(claim.id, claim.publisher)
        if claim.supersedes is not None:
            self._write.revised(claim.id, claim.supersedes, "Claim")
        taken = () if claim.derivation is None else claim.derivation.takes
        self._write.derived(claim.id, [each.claim for each in taken])

    def _evidenced(self, claim: ClaimFacts, entry: Entry) -> None:
        write = self._write
        match entry.payload:
            case entries.CitationAdded() as added:
                write.used(entry, [added.document], "Document")
                citation = named(entries.CITATION, entry.seq)
                write.made(entry, citation, "Citation", {"quote_sha256": added.quote_sha256, "claim": claim.id})
                write.derived(citation, [added.document])
            case entries.ClaimDerived() as derived:
                worked = derived.derivation
                taken = [each.claim for each in worked.takes]
                rows = [row.cites.document for row in worked.rows if row.cites is not None]
                write.used(entry, taken, "Claim")
                write.used(entry, rows, "Document")
                how: Said = {"method": worked.method, "version": worked.version, "rows": len(worked.rows)}
                write.made(entry, f"derivation/{entry.seq}", "Derivation", {**how, "claim": claim.id})
                write.derived(f"derivation/{entry.seq}", [*taken, *rows])
            case entries.CitationRead() as read:
                write.used(entry, [read.citation], "Citation")
                seen: Said = {"outcome": read.outcome, "page": read.page, "sha256": read.sha256}
                write.made(entry, f"look/{entry.seq}", "PageReading", seen)
                write.derived(f"look/{entry.seq}", [read.citation])
            case entries.EvidenceChanged() as changed:
                write.used(entry, [changed.document], "Document")
                now: Said = {"outcome": changed.outcome, "sha256": changed.sha256}
                write.made(entry, f"change/{entry.seq}", "Change", now)
                write.derived(f"change/{entry.seq}", [changed.document])
            case _:
                pass

    def _reviewed(self, claim: ClaimFacts, entry: Entry) -> None:
        """What people and time did to a claim."""
        write = self._write
        review = named(entries.REVIEW, entry.seq)
        match entry.payload:
            case entries.ReadingKeyed() as keyed:
                cited = [each.id for each in claim.citations if int(each.id[1:]) < entry.seq]
                write.used(entry, cited, "Citation")
                write.made(entry, review, "BlindReading", {"differences": len(keyed.differences)})
                write.derived(review, cited)
            case entries.ClaimDecided() as decided:
                read = [] if decided.reading is None else [decided.reading]
                write.used(entry, read, "BlindReading")
                why: Said = {"code": decided.code, "reason_sha256": decided.reason_sha256}
                made: Said = {"decision": decided.decision, "interest": decided.interest, **why}
                write.made(entry, review, "Decision", made)
                write.derived(review, read)
            case entries.ClaimDisputed() as disputed:
                against = [] if disputed.document is None else [disputed.document]
                write.used(entry, against, "Document")
                dispute = named(entries.DISPUTE, entry.seq)
                said: Said = {"reason_sha256": disputed.reason_sha256, "interest": disputed.interest}
                write.made(entry, dispute, "Dispute", said)
                write.derived(dispute, against)
            case entries.DisputeSettled() as settled:
                write.used(entry, [settled.dispute], "Dispute")
                how: Said = {"settlement": settled.settlement, "code": settled.code}
                write.made(entry, review, "Settlement", {**how, "reason_sha256": settled.reason_sha256})
                write.derived(review, [settled.dispute])
            case entries.DisputeLapsed() as lapsed:
                write.used(entry, [lapsed.dispute], "Dispute")
            case entries.MismatchJudged() as judged:
                write.used(entry, [judged.reading], "BlindReading")
                found: Said = {"finding": judged.finding, "reason_sha256": judged.reason_sha256}
                write.made(entry, review, "MismatchJudgement", found)
                write.derived(review, [judged.reading])
            case _:
                # What time did, a withdrawal and a renewal are the activity alone.
                pass

    def _stands(self, claim: ClaimFacts, history: Sequence[Entry]) -> None:
        """The claim as its last entry left it, which comes from everything before."""
        if len(history) == 1:
            return
        last = history[-1]
        standing = f"{claim.id}/standing"
        said: Said = {"state": claim.state, "approvals": len(claim.approvals), "as_of": last.seq}
        self._write.made(last, standing, "Standing", said)
        self._write.special(standing, claim.id, "Claim")
        sources = [
            claim.id,
            *(each.id for each in claim.citations),
            *(each.id for each in claim.readings),
            *(each.id for each in claim.reviews),
            *(each.id for each in claim.judgements),
            *(each.id for each in claim.disputes),
            *(vote.id for dispute in claim.disputes for vote in dispute.votes),
        ]
        # What the last entry made came at the same moment, and not before.
        self._write.derived(standing, [each for each in sources if int(each[1:]) < last.seq])

    def _placed(self, claim: ClaimFacts) -> None:
        """The mergers and splits that put the claim on another subject, and their undoing."""
        moved = placements.that_moved(self._session, claim=claim.id, subject=claim.subject, after=claim.seq)
        for row in moved:
            for entry in self._read(f"placement:{row.id}"):
                self._write.activity(entry)
                if entry.seq != row.decided:
                    said: Said = {"kind": row.kind, "reason_sha256": row.reason_sha256}
                    self._write.made(entry, row.id, "Placement", said)
                    continue
                undone = [] if row.undoes is None else [row.undoes]
                self._write.used(entry, [row.id, *undone], "Placement")
                self._write.used(entry, [claim.id], "Claim")
                placed = f"{claim.id}/placed/{entry.seq}"
                onto = None if undone else f"{row.subject_kind}:{row.other_id}"
                self._write.made(entry, placed, "Placed", {"subject": onto})
                self._write.special(placed, claim.id, "Claim")
                self._write.derived(placed, [claim.id, row.id])

    def _published(self, id: str, slug: str) -> None:
        known = subjects.publisher(self._session, slug=slug)
        person = known is not None and known.kind == PublisherKind.PERSON
        self._write.by_publisher(id, slug, person=person)


def _documents_of(entry: Entry) -> tuple[str, ...]:
    """The documents that an entry is about, and not only known from."""
    match entry.payload:
        case entries.DocumentAdded() | entries.DocumentAddressed():
            return (named(entries.DOCUMENT, entry.seq),)
        case entries.CopyJudged(document=one, of=other):
            return (one, other)
        case _:
            return (str(getattr(entry.payload, "document", "")),)
