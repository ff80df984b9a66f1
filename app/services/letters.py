"""A letter to a maker, an importer or a dealer about a vehicle's roof, from what the registry knows and does not."""

from collections.abc import Sequence

import msgspec

from app.core.claim import Condition, Subject, SubjectKind
from app.core.entries import VehicleAdded
from app.core.errors import invalid
from app.core.letter import Named, known_figures, letter
from app.core.letter_words import Language
from app.persistence.models import Publisher
from app.persistence.queries import subjects
from app.persistence.session import AnySession
from app.services.facts import load, not_found


class LetterView(msgspec.Struct, frozen=True):
    """A letter: to whom (a publisher), what it is about, its questions, and its whole text, ready to print and sign.
    Without the name of whom it is for, that is left to be written."""

    vehicle: str
    to: str
    to_name: str | None
    language: Language
    subject: str
    questions: tuple[str, ...]
    text: str


def letter_view(
    session: AnySession,
    vehicle: str,
    *,
    to: str | None = None,
    conditions: Sequence[Condition] = (),
    language: Language = Language.EN,
) -> LetterView:
    """A letter to a publisher (None: the vehicle's maker) about a roof in some conditions (none: in every one). Raises
    not_found for the vehicle, and bad input for the publisher."""
    about = Subject(SubjectKind.VEHICLE, vehicle)
    loaded = load(session, about)
    if loaded is None or not isinstance(loaded.dossier.record.payload, VehicleAdded):
        raise not_found(about)
    recorded = loaded.dossier.record.payload
    maker, addressee = _publisher(session, recorded.maker), _publisher(session, to or recorded.maker)
    written = letter(
        Named(maker.name or maker.slug, recorded.model, recorded.series, recorded.years),
        addressee.name,
        [each for each in Condition if not conditions or each in conditions],
        known_figures(loaded.dossier),
        language,
    )
    return LetterView(
        vehicle, addressee.slug, addressee.name, language, written.subject, written.questions, written.text
    )


def _publisher(session: AnySession, slug: str) -> Publisher:
    row = subjects.publisher(session, slug=slug)
    if row is None:
        raise invalid("/publisher", "no_such_publisher", f"There is no publisher {slug!r}.")
    return row
