"""Answers that somebody keeps: the request and the entry are kept under the answer's digest, and the answer is worked
out again for whoever looks it up. One that comes to another digest is never shown.

Anybody may keep one: a card that is printed at a counter points at it. What people type of their gear is kept with the
request; a steward can remove it.
"""

import re
from datetime import datetime
from typing import Any, Final

import msgspec

from app.core.claim import Subject
from app.core.errors import CantrailError, Kind, invalid
from app.core.permissions import Scope, may_take_down
from app.core.scoring import Dossier
from app.persistence import ledger, stores
from app.persistence.base import utc_text
from app.persistence.models import KeptReceipt
from app.persistence.queries import kept as queries
from app.persistence.session import AnySession, Database, WriteSession
from app.services.answering import Answers, budget_from, limit_from, placed
from app.services.asked import BudgetIn, LimitIn
from app.services.facts import load, not_found
from app.services.inputs import Input, SubjectIn
from app.services.standing import ChangedBy, Effect, Work, effect_of, outcome_or_none, walk
from app.services.views.answers import Receipt
from app.services.work import Work as Writing

MOST_BYTES: Final = 16 * 1024
"""A request with a hundred things on the roof has room in it."""

WHERE: Final = "/api/v1/receipts/"
_DIGEST: Final = re.compile(r"(?:sha256:)?([0-9a-f]{64})")


class KeptLimitIn(LimitIn, frozen=True, kw_only=True):
    """A figure as it is asked for in an address, with the subject that the address names."""

    subject: SubjectIn


class NewKept(Input, frozen=True, kw_only=True):
    """An answer to be kept: of a `limit` or of a `budget`, one of the two."""

    limit: KeptLimitIn | None = None
    budget: BudgetIn | None = None


class KeptView(msgspec.Struct, frozen=True):
    """An answer that is kept: its receipt, where it is looked up, since when, and the answer as the API gives it."""

    receipt: Receipt
    address: str
    kept_at: str
    answer: dict[str, Any]


class NoAnswerView(msgspec.Struct, frozen=True):
    """Why what was asked is not answered any more."""

    code: str
    sentence: str


class StandingView(msgspec.Struct, frozen=True):
    """A kept answer: what was asked, what was answered then, and whether that still stands as of the entry `head`.

    `standing` is what became of it from then to now, and `now` the answer today, or null where `refused` says why there
    is none. `changes` are the entries that changed it, oldest first: some of them, and `next` asks for those after.
    """

    receipt: Receipt
    address: str
    kept_at: str
    request: dict[str, Any]
    answer: dict[str, Any]
    standing: Effect
    now: dict[str, Any] | None
    refused: NoAnswerView | None
    changes: list[ChangedBy]
    next: str | None
    head: int


class RemovedView(msgspec.Struct, frozen=True):
    """A kept answer that was removed."""

    digest: str
    removed_at: str


class _Answered(msgspec.Struct, frozen=True):
    receipt: Receipt


def keep(database: Database, answers: Answers, new: NewKept, now: datetime) -> KeptView:
    """Answer, and keep it. The same answer is kept once. Raises what the answer raises, `request_too_large`, and a
    conflict where it was removed."""
    body = _answered(answers, new)
    receipt = msgspec.json.decode(body, type=_Answered).receipt
    request = msgspec.json.encode(_without_as_of(new)).decode()
    if len(request.encode()) > MOST_BYTES:
        raise CantrailError(
            Kind.TOO_LARGE, "request_too_large", f"A request of {MOST_BYTES // 1024} KiB is kept at most. Ask for less."
        )
    digest = receipt.digest.removeprefix("sha256:")

    def unit(session: WriteSession) -> KeptReceipt:
        return stores.keep_receipt(
            session, digest=digest, as_of=receipt.as_of, method=receipt.method, request=request, now=now
        )

    with database.read() as session:
        known = queries.kept_receipt(session, digest=digest)
    row = database.run(unit) if known is None else known
    if row.request is None:
        raise _removed(Kind.CONFLICT)
    return KeptView(receipt, WHERE + digest, utc_text(row.kept_at), msgspec.json.decode(body))


def _answered(answers: Answers, new: NewKept) -> bytes:
    asked = _one(new)
    try:
        if isinstance(asked, BudgetIn):
            return answers.budget(asked).body
        return answers.limit(_subject(asked), _plain(asked)).body
    except CantrailError as error:
        if error.kind is Kind.NOT_FOUND and isinstance(asked, KeptLimitIn):
            raise invalid("/limit/subject/id", error.code, error.message) from error
        raise placed(error, "/budget" if isinstance(asked, BudgetIn) else "/limit") from error


def _one(new: NewKept) -> KeptLimitIn | BudgetIn:
    if new.limit is not None and new.budget is None:
        return new.limit
    if new.budget is not None and new.limit is None:
        return new.budget
    raise invalid("", "limit_or_budget", "Ask for a `limit` or for a `budget`: one of the two.")


def _subject(asked: KeptLimitIn) -> Subject:
    return Subject(asked.subject.kind, asked.subject.id)


def _plain(asked: KeptLimitIn) -> LimitIn:
    """The question without its subject, as the digest is over it."""
    return LimitIn(**{name: getattr(asked, name) for name in LimitIn.__struct_fields__})


def _without_as_of(new: NewKept) -> dict[str, Any]:
    """What is kept of a request."""
    name = "limit" if new.limit is not None else "budget"
    return {name: {**msgspec.to_builtins(_one(new)), "as_of": None}}


# Looking one up


def look(session: AnySession, said: str, *, after: int) -> StandingView:
    """A kept answer, as it was and as it stands. Raises not_found, and `receipt_broken` where what is worked out now as
    of then is not what was kept."""
    row = _row(session, said)
    if row.request is None:
        raise _removed(Kind.NOT_FOUND)
    asked = msgspec.json.decode(row.request, type=NewKept)
    work = _work(asked)
    then, was = outcome_or_none(work, _AsOf(session, row.as_of))
    if isinstance(was, CantrailError) or was.receipt.digest != f"sha256:{row.digest}":
        raise _broken(row)
    head = ledger.head(session)
    outcome, now = outcome_or_none(work, _AsOf(session, head))
    # Where nothing that the answer depends on was entered since, there is nothing to walk through.
    touched = isinstance(now, CantrailError) or now.receipt.as_of > row.as_of
    walked = walk(session, work, after=max(after, row.as_of), head=head) if touched else None
    return StandingView(
        receipt=was.receipt,
        address=WHERE + row.digest,
        kept_at=utc_text(row.kept_at),
        request=msgspec.json.decode(row.request),
        answer=msgspec.to_builtins(was),
        standing=effect_of(then, outcome),
        now=None if isinstance(now, CantrailError) else msgspec.to_builtins(now),
        refused=NoAnswerView(now.code, now.message) if isinstance(now, CantrailError) else None,
        changes=walked.changes if walked else [],
        next=str(walked.next) if walked and walked.next is not None else None,
        head=head,
    )


def _work(new: NewKept) -> Work:
    asked = _one(new)
    if isinstance(asked, BudgetIn):
        return lambda held: budget_from(held, asked)
    return lambda held: limit_from(held, _subject(asked), _plain(asked))


class _AsOf:
    """Dossiers as of one entry, each read once."""

    def __init__(self, session: AnySession, seq: int) -> None:
        self._session = session
        self._seq = seq
        self._found: dict[Subject, Dossier] = {}

    def __call__(self, subject: Subject) -> Dossier:
        if subject not in self._found:
            loaded = load(self._session, subject, self._seq)
            if loaded is None:
                raise not_found(subject)
            self._found[subject] = loaded.dossier
        return self._found[subject]


def _row(session: AnySession, said: str) -> KeptReceipt:
    """A kept answer by its digest, in letters of either size: a code that is printed has the large ones."""
    digest = _DIGEST.fullmatch(said.lower())
    row = None if digest is None else queries.kept_receipt(session, digest=digest[1])
    if row is None:
        raise CantrailError(
            Kind.NOT_FOUND,
            "no_such_receipt",
            "No answer with this digest is kept. Ask again with its as_of, and keep it with POST /receipts.",
        )
    return row


def _removed(kind: Kind) -> CantrailError:
    return CantrailError(kind, "receipt_removed", "This answer was kept, and a steward has removed it. Ask anew.")


def _broken(row: KeptReceipt) -> CantrailError:
    return CantrailError(
        Kind.UNAVAILABLE,
        "receipt_broken",
        f"What is worked out now as of entry {row.as_of} is not the answer that was kept: it has another digest. "
        "Nothing is shown. Rely on no answer of this registry until `cantrail verify` has told why.",
    )


def remove(writing: Writing, said: str) -> RemovedView:
    """Forget what was asked, for good. Raises not_found, and a conflict where it was removed before."""
    writing.require(Scope.REVIEW)
    may_take_down(writing.caller.role)
    row = _row(writing.session, said)
    if row.request is None:
        raise _removed(Kind.CONFLICT)
    stores.remove_receipt(writing.session, row=row, by=writing.account, now=writing.now)
    return RemovedView(f"sha256:{row.digest}", utc_text(writing.now))
