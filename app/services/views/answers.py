"""Limits and other figures as they are sent: grams become the asker's unit, on the safe side, and codes get their
sentences. No number stands without its condition, basis, bound and confidence."""

from collections.abc import Iterable, Sequence

import msgspec

from app.core.conditions import Ruling
from app.core.enquiry import Enquiry
from app.core.limits import Figure
from app.core.mass import Unit, allowed_in, carried_in
from app.core.refusal import Refusal, Unreviewed
from app.core.roof import OpenDimension
from app.core.scope import Value
from app.core.scoring import Dossier
from app.core.selection import Conflict, Factor, Firmness, Line, Mass, Side, lowest_line
from app.core.wording import CAUTIONS, NOTES, refusal_sentence

BASIS = {Side.GROSS: "includes_carrier", Side.NET: "excludes_carrier"}
BOUND = {Firmness.EXACT: "exact", Firmness.FLOOR: "at_least", Firmness.CAP: "at_most"}


class Receipt(msgspec.Struct, frozen=True):
    """What an answer was computed from: asked again with `as_of`, the digest is the same for ever."""

    digest: str
    as_of: int
    method: str


class SideView(msgspec.Struct, frozen=True):
    """One side of a limit: the figure, what it counts, its bound, and the claims that give it."""

    value: float
    basis: str
    bound: str
    claims: tuple[str, ...]


class FigureView(msgspec.Struct, frozen=True):
    """A limit: all that may be on the roof (gross), the cargo alone (net), or both; the lower rules."""

    gross: SideView | None
    net: SideView | None
    confidence: float
    roots: int


class CapView(msgspec.Struct, frozen=True):
    """No more than this, figure or not."""

    gross: SideView | None
    net: SideView | None


class ReducedView(msgspec.Struct, frozen=True):
    """The on-road limit multiplied by the vehicle's own off-road factor."""

    factor: str
    gross: SideView | None
    net: SideView | None
    claims: tuple[str, ...]


class BestView(msgspec.Struct, frozen=True):
    """The most certain claim there is, which is not certain enough."""

    claim: str
    confidence: float


class AskedView(msgspec.Struct, frozen=True):
    """An enquiry about a figure that came to nothing: whom it was put to, and what became of it on which day."""

    id: str
    publisher: str
    outcome: str
    asked_on: str
    on: str


class RefusalView(msgspec.Struct, frozen=True):
    """A figure that cannot be named, and why; where it was asked for in vain, of whom."""

    figure: str
    subject: str
    kind: str
    best: BestView | None
    enquiries: list[AskedView]
    sentence: str


class LimitAnswerView(msgspec.Struct, frozen=True):
    """What one value of the dimension would give: off-road, after the vehicle's own factor."""

    value: Value
    gross: float | None
    net: float | None


class LimitQuestionView(msgspec.Struct, frozen=True):
    """A dimension on which the answer depends."""

    dimension: str
    answers: list[LimitAnswerView]


class UnreviewedView(msgspec.Struct, frozen=True):
    """An undecided claim that would lower the answer; it changes nothing yet."""

    claim: str
    figure: str
    value: float | None
    confidence: float


class ConflictView(msgspec.Struct, frozen=True):
    """Claims that cannot all be right; the lowest stands."""

    claims: tuple[str, ...]
    low: float
    high: float


class NoteView(msgspec.Struct, frozen=True):
    """A code with its sentence."""

    code: str
    sentence: str


class LimitView(msgspec.Struct, frozen=True, kw_only=True):
    """A roof limit or a load rating in one condition, or a refusal to name one."""

    subject: str
    quantity: str
    condition: str
    unit: str
    figure: FigureView | None
    reduced: ReducedView | None
    cap: CapView | None
    vetted: bool
    questions: list[LimitQuestionView]
    refusal: RefusalView | None
    conflicts: list[ConflictView]
    unreviewed_lower: list[UnreviewedView]
    notes: list[NoteView]
    cautions: Sequence[str]
    receipt: Receipt


class MassView(msgspec.Struct, frozen=True, kw_only=True):
    """What a thing itself weighs, or a refusal to say."""

    subject: str
    quantity: str
    unit: str
    value: float | None
    bound: str | None
    basis: str | None
    confidence: float | None
    claims: tuple[str, ...]
    roots: int
    vetted: bool
    refusal: RefusalView | None
    conflicts: list[ConflictView]
    unreviewed_higher: list[UnreviewedView]
    cautions: Sequence[str]
    receipt: Receipt


class FactorView(msgspec.Struct, frozen=True, kw_only=True):
    """An off-road factor on what it applies to; null where none is recorded."""

    applies_to: str
    value: str | None
    confidence: float | None
    claims: tuple[str, ...]


class FactorsView(msgspec.Struct, frozen=True, kw_only=True):
    """The off-road factors of one subject."""

    subject: str
    quantity: str
    factors: list[FactorView]
    unreviewed_lower: list[UnreviewedView]
    cautions: Sequence[str]
    receipt: Receipt


# Parts that limits and budgets share


def refusal_view(refused: Refusal) -> RefusalView:
    """A refusal with its sentence."""
    best = None if refused.best is None else BestView(refused.best.claim, refused.best.confidence)
    enquiries = [asked_view(each.enquiry) for each in refused.enquiries]
    return RefusalView(refused.figure, refused.subject, refused.kind, best, enquiries, refusal_sentence(refused))


def asked_view(enquiry: Enquiry) -> AskedView:
    """An enquiry that came to nothing, as a refusal tells of it."""
    return AskedView(
        enquiry.id, enquiry.asked, enquiry.outcome or "", enquiry.asked_on, enquiry.closed_on or enquiry.answer_by
    )


def unreviewed_views(found: Iterable[Unreviewed], unit: Unit) -> list[UnreviewedView]:
    """The undecided claims as they are sent."""
    return [
        UnreviewedView(each.claim, each.figure, None if each.grams is None else _amount(each, unit), each.confidence)
        for each in found
    ]


def _amount(found: Unreviewed, unit: Unit) -> float:
    grams = found.grams or 0
    return carried_in(unit, grams) if found.figure == "own_mass" else allowed_in(unit, grams)


def conflict_views(found: Iterable[Conflict], unit: Unit) -> list[ConflictView]:
    """Conflicts as they are sent."""
    return [
        ConflictView(each.claims, allowed_in(unit, each.low_grams), allowed_in(unit, each.high_grams)) for each in found
    ]


def note_views(codes: Iterable[str]) -> list[NoteView]:
    """Notes with their sentences."""
    return [NoteView(code, NOTES[code]) for code in codes]


def down(grams: int | None, unit: Unit) -> float | None:
    """Grams that are allowed, in the unit shown; None stays None."""
    return None if grams is None else allowed_in(unit, grams)


def side_view(lines: Iterable[Line], side: Side, unit: Unit) -> SideView | None:
    """The lowest line on one side, as it is sent."""
    line = lowest_line(lines, side)
    if line is None:
        return None
    return SideView(allowed_in(unit, line.grams), BASIS[side], BOUND[line.firmness], line.claims)


def roots_behind(dossier: Dossier, claims: Iterable[str]) -> int:
    """How many independent roots stand behind some claims."""
    return len({root for claim in claims if claim in dossier.scored for root in dossier.scored[claim].candidate.roots})


# Limits


def figure_view(ruling: Ruling, dossier: Dossier, unit: Unit) -> FigureView | None:
    """A limit's figure, or None where there is none."""
    if not ruling.figure:
        return None
    claims = {claim for line in ruling.figure for claim in (*line.claims, *(each.claim for each in line.support))}
    return FigureView(
        side_view(ruling.figure, Side.GROSS, unit),
        side_view(ruling.figure, Side.NET, unit),
        min(line.confidence for line in ruling.figure),
        roots_behind(dossier, claims),
    )


def limit_view(found: Figure, dossier: Dossier, quantity: str, unit: Unit, receipt: Receipt) -> LimitView:
    """A limit as it is sent."""
    ruling = found.ruling
    return LimitView(
        subject=dossier.subject.id,
        quantity=quantity,
        condition=found.condition,
        unit=unit,
        figure=figure_view(ruling, dossier, unit),
        reduced=_reduced(ruling, unit),
        cap=CapView(side_view(ruling.caps, Side.GROSS, unit), side_view(ruling.caps, Side.NET, unit))
        if ruling.caps
        else None,
        vetted=bool(ruling.figure) and ruling.vetted,
        questions=[_limit_question(each, unit) for each in found.open],
        refusal=None if found.refusal is None else refusal_view(found.refusal),
        conflicts=conflict_views(ruling.conflicts, unit),
        unreviewed_lower=unreviewed_views(found.unreviewed_lower, unit),
        notes=note_views(ruling.notes),
        cautions=CAUTIONS,
        receipt=receipt,
    )


def _reduced(ruling: Ruling, unit: Unit) -> ReducedView | None:
    if ruling.factor is None or not ruling.reduced:
        return None
    return ReducedView(
        str(ruling.factor.value),
        side_view(ruling.reduced, Side.GROSS, unit),
        side_view(ruling.reduced, Side.NET, unit),
        ruling.factor.claims,
    )


def _limit_question(asked: OpenDimension, unit: Unit) -> LimitQuestionView:
    def grams(ruling: Ruling, side: Side) -> float | None:
        line = ruling.allows(side)
        return None if line is None else allowed_in(unit, line.grams)

    return LimitQuestionView(
        asked.dimension,
        [
            LimitAnswerView(each.value, grams(each.ruling, Side.GROSS), grams(each.ruling, Side.NET))
            for each in asked.answers
        ],
    )


def mass_view(
    dossier: Dossier,
    mass: Mass | None,
    conflicts: Iterable[Conflict],
    refused: Refusal | None,
    higher: Iterable[Unreviewed],
    unit: Unit,
    receipt: Receipt,
) -> MassView:
    """An own mass as it is sent."""
    scored = [dossier.scored[claim].claim.statement.basis for claim in (mass.claims if mass else ())]
    return MassView(
        subject=dossier.subject.id,
        quantity="own_mass",
        unit=unit,
        value=None if mass is None else carried_in(unit, mass.grams),
        bound=None if mass is None else str(mass.bound),
        basis=next((str(basis) for basis in scored if basis is not None), None),
        confidence=None if mass is None else mass.confidence,
        claims=mass.claims if mass else (),
        roots=roots_behind(dossier, mass.claims) if mass else 0,
        vetted=mass is not None and mass.vetted,
        refusal=None if refused is None else refusal_view(refused),
        conflicts=conflict_views(conflicts, unit),
        unreviewed_higher=unreviewed_views(higher, unit),
        cautions=CAUTIONS,
        receipt=receipt,
    )


def factors_view(
    dossier: Dossier, factors: Iterable[tuple[str, Factor | None]], lower: Iterable[Unreviewed], receipt: Receipt
) -> FactorsView:
    """Off-road factors as they are sent."""
    return FactorsView(
        subject=dossier.subject.id,
        quantity="off_road_factor",
        factors=[
            FactorView(
                applies_to=target,
                value=None if factor is None else str(factor.value),
                confidence=None if factor is None else factor.support[0].confidence,
                claims=() if factor is None else factor.claims,
            )
            for target, factor in factors
        ],
        unreviewed_lower=unreviewed_views(lower, Unit.KG),
        cautions=CAUTIONS,
        receipt=receipt,
    )
