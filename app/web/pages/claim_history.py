"""A claim's history in words: each entry of the ledger with its day, who did it, and what it did to the answers."""

from collections.abc import Iterable
from typing import Any, Final, NamedTuple

from app.services.looking import EntryView
from app.services.timelines import HappenedView
from app.services.views.plates import ChangedView
from app.web.pages.telling import amount
from app.web.pages.writing import number, said

SYSTEM: Final = "system"

DIFFERENCES: Final[dict[str, str]] = {
    "figure": "the figure",
    "condition": "the condition",
    "basis": "whether the rack counts",
    "applies_to": "what it applies to",
    "excluded_mass": "the mass that is left out",
    "bound": "whether it is at least, at most or exact",
    "per": "what it is for",
    "years": "years",
    "bodies": "bodies",
    "roofs": "roofs",
    "markets": "markets",
    "rows": "the rows",
}
CODES: Final[dict[str, str]] = {
    "wrong_vehicle": "it is another vehicle’s",
    "wrong_condition": "it holds in another condition",
    "carrier_rating_quoted": "it only quotes the rack’s own rating",
    "unit_error": "the unit is wrong",
    "misread": "the page was misread",
    "wrong_scope": "it is not about these cars",
    "superseded_edition": "a newer edition says otherwise",
    "no_evidence": "there is no evidence",
    "duplicate": "it is claimed already",
    "other": "for another reason",
}
FINDINGS: Final[dict[str, str]] = {
    "claim_goes_beyond": "the claim goes beyond its page",
    "reading_mistaken": "the reading was mistaken",
    "page_unclear": "the page is unclear",
}
SEEN: Final[dict[str, str]] = {
    "found": "the figure stands there, near its words",
    "apart": "the figure is printed, but not near words for roof or load",
    "not_found": "the page has text, and the figure is not on it",
    "no_text": "the page has no text that a machine could read",
}


class Did(NamedTuple):
    """What an entry did to a figure of the vehicle's plate: from what to what, in which conditions, for how many kinds
    of car."""

    effect: str
    conditions: str
    before: str | None
    after: str | None
    cars: int


class Line(NamedTuple):
    """One entry: its number, when, who (None: time, or the registry itself), what happened, and a page of it."""

    seq: int
    at: str
    actor: str | None
    words: str
    link: tuple[str, str] | None
    did: list[Did]


def lines(happened: Iterable[HappenedView], unit: str) -> list[Line]:
    """The entries of a claim in words."""
    return [_line(each, unit) for each in happened]


def differing(differences: Iterable[str]) -> str:
    """In what a claim goes beyond a reading, in words."""
    return ", ".join(DIFFERENCES.get(each, each.replace("_", " ")) for each in differences)


def _line(happened: HappenedView, unit: str) -> Line:
    entry = happened.entry
    actor = None if entry.actor == SYSTEM else entry.actor
    return Line(entry.seq, entry.at, actor, _words(entry), _link(entry.payload), _done(happened.plates, unit))


def _words(entry: EntryView) -> str:
    payload = entry.payload
    match entry.type:
        case "claim_submitted":
            return "Submitted"
        case "citation_added":
            page = f", page {payload['page']}" if payload["page"] else ""
            return f"Evidence {'added' if payload['later'] else 'cited'}{page}"
        case "claim_derived":
            return "Entered with how it is worked back"
        case "citation_read":
            return f"The machine looked at the page cited: {SEEN.get(payload['outcome'], payload['outcome'])}"
        case "evidence_changed":
            gone = payload["outcome"] == "not_found"
            return (
                f"The page says something else today: {'the figure is gone' if gone else 'the figure is still on it'}"
            )
        case "reading_keyed":
            differs = differing(payload["differences"])
            return f"Read blind: {f'differs in {differs}' if differs else 'agrees'}"
        case "claim_decided":
            return _decided(payload)
        case "mismatch_judged":
            return f"A steward looked at a reading that differs: {FINDINGS.get(payload['finding'], payload['finding'])}"
        case _:
            return _challenged(entry)


def _decided(payload: dict[str, Any]) -> str:
    match payload["decision"]:
        case "approve":
            return "Approved"
        case "ask_evidence":
            return "More evidence asked for"
        case _:
            return f"Rejected: {CODES.get(payload['code'], payload['code'])}"


def _challenged(entry: EntryView) -> str:
    payload = entry.payload
    match entry.type:
        case "claim_disputed":
            held = payload["document"] is not None
            return f"Disputed, {'with evidence held against it' if held else 'without evidence'}"
        case "dispute_settled":
            if payload["settlement"] == "uphold":
                return "Dispute settled: the claim is upheld"
            return f"A reviewer refutes it: {CODES.get(payload['code'], payload['code'])}"
        case "dispute_lapsed":
            return "The dispute lapsed: no evidence came in its days"
        case "claim_superseded":
            return "Superseded by a newer claim"
        case "claim_revived":
            return "Stands again: what took its place was refuted"
        case "claim_withdrawn":
            return "Withdrawn by whoever entered it"
        case "claim_aged":
            years = payload["years"]
            return f"Review overdue{f' by {number(years)} years' if years > 1 else ' by a year' if years else ''}"
        case "claim_renewed":
            return "Read afresh by two reviewers: its time begins again"
        case _:
            return entry.type.replace("_", " ").capitalize()


def _link(payload: dict[str, Any]) -> tuple[str, str] | None:
    for field, place in (("document", "/documents/"), ("by", "/claims/"), ("instead_of", "/claims/")):
        if isinstance(payload.get(field), str):
            return payload[field], place + payload[field]
    return None


def _done(plates: Iterable[ChangedView], unit: str) -> list[Did]:
    """What was done, once for each figure, with the conditions in which it was done."""
    found: dict[tuple[str, str | None, str | None], list[ChangedView]] = {}
    for each in plates:
        found.setdefault((each.effect, amount(each.before, unit), amount(each.after, unit)), []).append(each)
    return [
        Did(
            effect,
            ", ".join(dict.fromkeys(said(each.condition, "condition_in") for each in changed)),
            before,
            after,
            max(
                sum(1 for each in changed if each.condition == condition)
                for condition in {c.condition for c in changed}
            ),
        )
        for (effect, before, after), changed in found.items()
    ]
