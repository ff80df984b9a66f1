"""What an entry of the ledger did, in a sentence with links, and what that did to plates, in words."""

from collections.abc import Iterable, Iterator, Mapping
from string import Formatter
from typing import Any, Final, NamedTuple

from app.core.claim import Subject, SubjectKind
from app.persistence.session import AnySession
from app.services.calling import called
from app.services.changes import ChangeView
from app.services.looking import EntryView
from app.services.views.plates import ChangedView
from app.web.pages.briefly import cell_words
from app.web.pages.writing import allowed, said

PLACES: Final = {
    "claim": "/claims/",
    "vehicle": "/vehicles/",
    "carrier": "/carriers/",
    "fixing": "/fixings/",
    "gear": "/gear/",
    "fitment": "/fitments/",
    "document": "/documents/",
    "enquiry": "/enquiries/",
    "publisher": "/publishers/",
    "dispute": "/disputes/",
    "placement": "/placements/",
}
"""Where the page of a thing of each kind is, before its id."""

_SENTENCES: Final[Mapping[str, str]] = {
    "method_adopted": "Confidence is worked out by method {method} from here on",
    "publisher_added": "{publisher} entered as a publisher",
    "vehicle_added": "{subject} entered",
    "carrier_added": "{subject} entered",
    "fixing_added": "{subject} entered",
    "gear_added": "{subject} entered",
    "fitment_added": "{subject} entered: what fits {beside}",
    "record_confirmed": "What is recorded of {subject} was checked by a reviewer",
    "record_corrected": "What is recorded of {subject} was corrected",
    "claim_submitted": "{claim} submitted: {quantity} of {subject}",
    "claim_derived": "{claim} on {subject} was worked back from others",
    "citation_added": "{claim} on {subject} now cites {document}",
    "citation_read": "A page cited by {claim} on {subject} was read by machine",
    "evidence_changed": "A page on which {claim} on {subject} rests has changed",
    "reading_keyed": "{claim} on {subject} was read blind",
    "claim_withdrawn": "{claim} on {subject} withdrawn",
    "claim_disputed": "{claim} on {subject} disputed",
    "dispute_settled": "Dispute {dispute} on {claim}, {subject}: {settlement}",
    "dispute_lapsed": "Dispute {dispute} on {claim}, {subject}, lapsed",
    "claim_superseded": "{claim} on {subject} superseded by {by}",
    "claim_revived": "{claim} on {subject} stands again",
    "claim_aged": "{claim} on {subject} is past its review date",
    "claim_renewed": "{claim} on {subject} was read afresh and stands",
    "mismatch_judged": "A mismatch on {claim}, {subject}, was looked at by a steward",
    "document_added": "{document} of {publisher} filed",
    "document_addressed": "{document} of {publisher} entered by its address",
    "snapshot_kept": "{document} fetched and kept",
    "address_checked": "The address of {document} was asked again",
    "pages_read": "The pages of {document} were read by machine",
    "copy_judged": "{document} was held against {other}: {copied}",
    "document_taken_down": "{document} taken down",
    "enquiry_opened": "{enquiry}: {publisher} asked about {subject}",
    "enquiry_closed": "{enquiry}, {publisher} about {subject}: {outcome}",
    "enquiry_lapsed": "{enquiry}, {publisher} about {subject}: no answer in time",
    "merger_proposed": "A steward says that {subject} and {into} are one",
    "split_proposed": "A steward says that some claims on {subject} belong to {onto}",
    "undoing_proposed": "A steward says that {undoes} was wrong",
    "placement_dropped": "Proposal {placement} was dropped",
    "subjects_merged": "{subject} is answered as {into} from here on",
    "claims_placed": "Some claims on {subject} are on {onto} from here on",
    "placement_undone": "{undoes} is in force no more: {subject} and {other} are two",
    "role_given": "An account was made {role}",
    "account_disabled": "An account was disabled",
    "account_enabled": "An account was enabled again",
    "account_reset": "An account was given a new way in",
}
_DECIDED: Final = {
    "approve": "{claim} on {subject} approved by a reviewer",
    "reject": "{claim} on {subject} rejected",
    "ask_evidence": "{claim} on {subject} needs more evidence",
}
_SETTLED: Final = {"uphold": "a reviewer upholds the claim", "refute": "a reviewer refutes the claim"}
_EFFECTS: Final = {"set": "set to", "raised": "raised", "lowered": "lowered", "emptied": "emptied"}


class Piece(NamedTuple):
    """Some words, and where they lead, if they do."""

    text: str
    href: str | None = None


class Effect(NamedTuple):
    """What an entry did to one field of a plate: which car, in which condition, what, and the figures before and after
    in words."""

    code: str
    vehicle: Piece
    where: str
    done: str
    before: str | None
    after: str | None


class Told(NamedTuple):
    """An entry as people read it."""

    seq: int
    at: str
    pieces: list[Piece]
    effects: list[Effect]
    complete: bool

    @property
    def sentence(self) -> str:
        """The sentence without its links."""
        return "".join(piece.text for piece in self.pieces)


def tell(session: AnySession, changes: Iterable[ChangeView], unit: str) -> list[Told]:
    """Entries in words, with the names of what they are about and what they did to plates, in one unit."""
    shown = list(changes)
    about = [subject for each in shown for subject in _subjects(each.entry)]
    plated = [Subject(SubjectKind.VEHICLE, plate.vehicle) for each in shown for plate in each.plates]
    names = called(session, [*about, *plated])
    return [
        Told(
            each.entry.seq,
            each.entry.at,
            list(_pieces(each.entry, names)),
            [_effect(plate, names, unit) for plate in each.plates],
            each.complete,
        )
        for each in shown
    ]


def effects(session: AnySession, plates: Iterable[ChangedView], unit: str) -> list[Effect]:
    """What is done to plates, in words, in one unit."""
    shown = list(plates)
    names = called(session, [Subject(SubjectKind.VEHICLE, plate.vehicle) for plate in shown])
    return [_effect(plate, names, unit) for plate in shown]


def amount(sides: Mapping[str, float | None] | None, unit: str) -> str | None:
    """A limit in words, by what it counts; None where there is none."""
    if sides is None:
        return None
    gross, net = sides["gross"], sides["net"]
    told = [] if gross is None else [f"{allowed(gross)} {unit}, rack included"]
    if net is not None:
        told.append(f"{allowed(net)} {unit} for the load alone")
    return "; ".join(told)


def _effect(changed: ChangedView, names: Mapping[Subject, str], unit: str) -> Effect:
    cells = [cell_words(changed.cells)] if changed.cells else []
    where = ", ".join([said(changed.condition, "condition"), *cells])
    vehicle = _linked(Subject(SubjectKind.VEHICLE, changed.vehicle), names)
    before, after = amount(changed.before, unit), amount(changed.after, unit)
    return Effect(changed.effect, vehicle, where, _EFFECTS[changed.effect], before, after)


def _pieces(entry: EntryView, names: Mapping[Subject, str]) -> Iterator[Piece]:
    wanted = _SENTENCES.get(entry.type, entry.type.replace("_", " ").capitalize())
    if entry.type == "claim_decided":
        wanted = _DECIDED.get(entry.payload["decision"], wanted)
    for words, field, _, _ in Formatter().parse(wanted):
        if words:
            yield Piece(words)
        if field:
            yield _filled(field, entry, names)


def _filled(field: str, entry: EntryView, names: Mapping[Subject, str]) -> Piece:
    payload = entry.payload
    match field:
        case "subject":
            return next((_linked(each, names) for each in _subjects(entry)), Piece("something"))
        case "beside":
            return next((_linked(each, names) for each in _subjects(entry)[1:]), Piece("what"))
        case "into" | "onto" | "other" if isinstance(payload.get(field), dict):
            return _linked(_subject(payload[field]), names)
        case "quantity":
            return Piece(said(payload["statement"]["quantity"], "quantity"))
        case "settlement":
            return Piece(_SETTLED.get(payload["settlement"], payload["settlement"]))
        case "copied":
            return Piece("a copy" if payload["copied"] else "no copy")
        case "outcome":
            return Piece(said(payload["outcome"], "outcome"))
        case "role":
            return Piece(f"a {said(payload['role'], 'role')}")
        case "by" | "undoes":
            return Piece(payload[field], PLACES["claim" if field == "by" else "placement"] + payload[field])
        case "other":
            return Piece(payload["of"], PLACES["document"] + payload["of"])
        case "claim" | "document" | "dispute" | "enquiry" | "publisher" | "placement":
            return _named(field, entry)
        case _:
            return Piece(str(payload.get(field, "something")))


def _named(field: str, entry: EntryView) -> Piece:
    """What an entry names in its payload, or else in the stream that it begins."""
    id = entry.payload.get(field) or next(
        (each.partition(":")[2].partition("/")[0] for each in entry.streams if each.startswith(f"{field}:")), None
    )
    return Piece(str(id), PLACES[field] + str(id)) if id else Piece("something")


def _subjects(entry: EntryView) -> list[Subject]:
    """What an entry is about: the subjects that its payload names, or else whose streams it goes into."""
    said_so = [_subject(each) for each in entry.payload.values() if _is_subject(each)]
    if said_so:
        return said_so
    streams = [each.partition("/")[0].partition(":") for each in entry.streams]
    kinds = {str(kind) for kind in SubjectKind}
    return [Subject(SubjectKind(kind), id) for kind, _, id in streams if kind in kinds]


def _is_subject(given: Any) -> bool:
    return isinstance(given, dict) and given.keys() == {"kind", "id"}


def _subject(given: Mapping[str, str]) -> Subject:
    return Subject(SubjectKind(given["kind"]), given["id"])


def _linked(subject: Subject, names: Mapping[Subject, str]) -> Piece:
    return Piece(names.get(subject, subject.id), PLACES[subject.kind] + subject.id)
