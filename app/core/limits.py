"""A limit, a rating or an own mass as asked for by itself, with all that is said beside it."""

import msgspec

from app.core.claim import Condition, Quantity, SubjectKind
from app.core.conditions import Ruling, concerned
from app.core.enquiry import came_to_nothing
from app.core.refusal import Refusal, Unreviewed, refusal, unreviewed_limits, unreviewed_masses
from app.core.roof import OpenDimension, check_context, part_rating, remembered, roof
from app.core.scope import Context
from app.core.scoring import Dossier
from app.core.selection import MassAnswer, mass_at


class Figure(msgspec.Struct, frozen=True):
    """A limit or rating as asked for by itself, with all that is said beside it."""

    condition: Condition
    ruling: Ruling
    open: tuple[OpenDimension, ...]
    refusal: Refusal | None
    unreviewed_lower: tuple[Unreviewed, ...]


def limit(subject: Dossier, context: Context, condition: Condition, demand: float) -> Figure:
    """A vehicle's roof limit, or a carrier's, fixing's or fitment's rating, in one condition."""
    is_roof = subject.subject.kind is SubjectKind.VEHICLE
    if is_roof:
        check_context(subject, context)
    found = roof(subject, context, condition, demand) if is_roof else part_rating(subject, context, condition, demand)
    return Figure(
        condition,
        found.ruling,
        found.open,
        None
        if found.ruling.figure
        else refusal(
            "roof_limit" if is_roof else "load_rating",
            subject.subject.id,
            [candidate for candidate in concerned(subject.figures, condition) if candidate.factor is None],
            subject.figures.of(condition),
            demand,
            found.ruling.below,
            came_to_nothing(subject.asked, Quantity.ROOF_LIMIT if is_roof else Quantity.LOAD_RATING, condition),
        ),
        unreviewed_limits(subject.figures, context, subject.record.range, condition, found.ruling, is_roof=is_roof),
    )


class MassFigure(msgspec.Struct, frozen=True):
    """An own mass as asked for by itself."""

    found: MassAnswer
    refusal: Refusal | None
    unreviewed_higher: tuple[Unreviewed, ...]


def own_mass(subject: Dossier, demand: float) -> MassFigure:
    """What a carrier, a fixing or a gear item itself weighs."""
    found = found_mass(subject, demand)
    masses = subject.figures.masses
    in_vain = came_to_nothing(subject.asked, Quantity.OWN_MASS)
    return MassFigure(
        found,
        None if found.mass else refusal("own_mass", subject.subject.id, masses, masses, demand, found.below, in_vain),
        unreviewed_masses(masses, found.mass),
    )


def found_mass(subject: Dossier, demand: float) -> MassAnswer:
    """The own mass of a subject, worked out once for each demand."""
    return remembered(subject, ("mass", demand), lambda: mass_at(subject.figures.masses, demand))
