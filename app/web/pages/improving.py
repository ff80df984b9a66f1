"""What would change a vehicle's answers: which evidence or review would lift a refusal, make a figure more certain, or
lower it."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Final, NamedTuple
from urllib.parse import urlencode

from app.core.claim import Condition, Quantity, Subject, SubjectKind
from app.core.lifecycle import State
from app.core.refusal import RefusalKind
from app.services.sheets import Gap, LineView
from app.services.views.answers import LimitView, RefusalView
from app.web.pages.plates import claims_behind
from app.web.pages.writing import allowed, said

TWO: Final = 2
MOST_LOWER: Final = 5
"""How many undecided claims that say less are named: those that say least."""


class Step(NamedTuple):
    """Something that would change an answer, and where it is done."""

    text: str
    href: str
    do: str


def steps(vehicle: str, answers: Sequence[LimitView], named: Mapping[str, LineView]) -> list[Step]:
    """What would change the answers, each thing once, what lifts a refusal first."""
    found: dict[str, Step] = {}
    for each in (*_lifting(vehicle, answers, named), *_firming(vehicle, answers, named)):
        found.setdefault(each.text, each)
    return list(found.values())


def _lifting(vehicle: str, answers: Sequence[LimitView], named: Mapping[str, LineView]) -> Iterable[Step]:
    refused: dict[tuple[str, str | None], tuple[RefusalView, list[str]]] = {}
    for answer in answers:
        if answer.refusal is not None:
            best = None if answer.refusal.best is None else answer.refusal.best.claim
            _, conditions = refused.setdefault((answer.refusal.kind, best), (answer.refusal, []))
            conditions.append(answer.condition)
    for refusal, conditions in refused.values():
        where = " and ".join(said(each, "condition_in") for each in conditions)
        yield from _lifts(vehicle, refusal, where, conditions[0], named)


def _lifts(
    vehicle: str, refusal: RefusalView, where: str, condition: str, named: Mapping[str, LineView]
) -> Iterable[Step]:
    best = None if refusal.best is None else refusal.best.claim
    submit = submit_at(vehicle, Gap(Quantity.ROOF_LIMIT, Condition(condition)))
    match refusal.kind:
        case RefusalKind.DISPUTED if best is not None:
            yield Step(
                f"Once the dispute on {best} is settled, there may be a figure {where}.",
                f"/claims/{best}",
                "See the dispute",
            )
        case RefusalKind.STALE if best is not None:
            yield Step(
                f"{best} is past its review date. Today’s edition of the same page would set the figure {where} again.",
                submit,
                "Submit it",
            )
        case RefusalKind.BELOW_CONFIDENCE if best is not None:
            yield Step(_lacking(best, named.get(best), where), f"/claims/{best}", f"Look at {best}")
            yield Step(f"A page of the maker’s own would count for more {where}.", submit, "Submit a page")
        case RefusalKind.SCOPE_UNPROVEN:
            yield Step(
                f"A page that says for which of these cars the figure {where} holds, or saying more about this car.",
                submit,
                "Submit a page",
            )
        case _:
            yield Step(
                f"A page of the handbook, or the plate on the door, photographed: it would be the first claim {where}.",
                submit,
                "Submit it",
            )
            yield Step(
                "The maker’s or importer’s word, in writing.",
                f"/vehicles/{vehicle}/letter",
                "Write the letter that asks",
            )


def _lacking(id: str, claim: LineView | None, where: str) -> str:
    if claim is None or claim.approvals >= TWO:
        return f"More evidence for {id}: it is not certain enough {where}."
    reviewers = "one more reviewer" if claim.approvals else "two reviewers"
    if claim.state is State.NEEDS_EVIDENCE:
        return f"{id} waits for evidence that a reviewer asked for; then it may set a figure {where}."
    return f"{id} waits for {reviewers} to read its page and approve it; then it may set a figure {where}."


def _firming(vehicle: str, answers: Sequence[LimitView], named: Mapping[str, LineView]) -> Iterable[Step]:
    yield from _lowering(answers)
    for answer in answers:
        where = said(answer.condition, "condition_in")
        codes = {note.code for note in answer.notes}
        if answer.figure is not None and codes & {
            "off_road_not_recorded",
            "on_road_not_recorded",
            "parked_from_driving",
        }:
            submit = submit_at(vehicle, Gap(Quantity.ROOF_LIMIT, Condition(answer.condition)))
            yield Step(
                f"The maker’s own figure {where} would take the place of the one that stands in.", submit, "Submit it"
            )
    behind = dict.fromkeys(claim for answer in answers for claim in claims_behind(answer))
    for id in behind:
        claim = named.get(id)
        if claim is not None and claim.sets and claim.roots == 1:
            yield Step(
                f"{id} rests on one source. A second one that does not copy it would make the figure more certain.",
                submit_at(vehicle, Gap(claim.said.quantity, claim.said.condition)),
                "Submit one",
            )


def _lowering(answers: Sequence[LimitView]) -> Iterable[Step]:
    """Claims that wait and would lower an answer: those that say least, and how many more."""
    least: dict[str, float] = {}
    found: dict[str, dict[str, list[str]]] = {}
    for answer in answers:
        for lower in answer.unreviewed_lower:
            known = answer.figure is not None or lower.value is None
            then = "the figure goes down" if known else f"no more than {allowed(lower.value)} {answer.unit} counts"
            found.setdefault(lower.claim, {}).setdefault(then, []).append(said(answer.condition, "condition_in"))
            least[lower.claim] = lower.value or 0.0
    first = sorted(found, key=lambda claim: least[claim])[:MOST_LOWER]
    for claim in first:
        told = [f"{then} {in_a_row(conditions)}" for then, conditions in found[claim].items()]
        yield Step(f"If reviewers approve {claim}, {'; '.join(told)}.", f"/claims/{claim}", f"Look at {claim}")
    if len(found) > len(first):
        more = len(found) - len(first)
        yield Step(
            f"{more} more undecided {'claim says' if more == 1 else 'claims say'} less.", "#claims", "All claims"
        )


def in_a_row(words: Sequence[str]) -> str:
    """Words one after another, the last after an "and"."""
    return " and ".join(filter(None, [", ".join(words[:-1]), *words[-1:]]))


def submit_at(vehicle: str, gap: Gap) -> str:
    """Where a vehicle's figure that nobody has claimed is submitted."""
    return submitted_at(Subject(SubjectKind.VEHICLE, vehicle), gap)


def submitted_at(subject: Subject, gap: Gap | None = None) -> str:
    """Where a figure of a subject is submitted: one that is missing, or any."""
    query = {str(subject.kind): subject.id}
    if gap is not None:
        query["quantity"] = str(gap.quantity)
        if gap.condition is not None:
            query["condition"] = str(gap.condition)
    return f"/submit?{urlencode(query)}"


def asked_at(vehicle: str, gap: Gap) -> str:
    """Where a vehicle's maker is asked about a figure: by the letter, where there is one for it."""
    if gap.condition is not None:
        return f"/vehicles/{vehicle}/letter?{urlencode({'condition': str(gap.condition)})}"
    return f"/enquiries/new?{urlencode({'vehicle': vehicle, 'quantity': str(gap.quantity)})}"
