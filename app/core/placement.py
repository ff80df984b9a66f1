"""Where claims and fitments are once subjects were merged and split: the one reading of what is in force."""

from collections.abc import Iterable
from enum import StrEnum

import msgspec

from app.core.claim import Subject, SubjectKind
from app.core.subject_entries import FitmentAdded


class PlacementKind(StrEnum):
    """What a placement does."""

    MERGER = "merger"
    SPLIT = "split"
    UNDOING = "undoing"


class PlacementState(StrEnum):
    """What became of a placement."""

    PROPOSED = "proposed"
    IN_FORCE = "in_force"
    REFUSED = "refused"
    WITHDRAWN = "withdrawn"
    UNDONE = "undone"


class Placed(msgspec.Struct, frozen=True):
    """A placement in force. A merger takes all of `subject` along and moves nothing by name (None); a split moves the
    claims and fitments that it names."""

    id: str
    subject: Subject
    other: Subject
    moved: tuple[str, ...] | None = None


class Placements:
    """The placements in force, in the order in which they came into force."""

    def __init__(self, placed: Iterable[Placed] = ()) -> None:
        self._placed = {each.id: each for each in placed}
        self._read()

    def _read(self) -> None:
        self._merged: dict[Subject, Subject] = {}
        self._moved: dict[str, list[Subject]] = {}
        for each in self._placed.values():
            if each.moved is None:
                self._merged[each.subject] = each.other
            for id in each.moved or ():
                self._moved.setdefault(id, []).append(each.other)

    def begin(self, placed: Placed) -> None:
        """A placement comes into force."""
        self._placed[placed.id] = placed
        self._read()

    def end(self, id: str) -> bool:
        """A placement is undone. Gives whether it was a merger."""
        ended = self._placed.pop(id, None)
        self._read()
        return ended is not None and ended.moved is None

    def in_force(self, subject: Subject) -> Subject:
        """The subject as which a subject is answered: itself, unless it was merged. A subject is merged once, into one
        that is not, so that this comes to an end."""
        while subject in self._merged:
            subject = self._merged[subject]
        return subject

    def home(self, claim: str, entered_on: Subject) -> Subject:
        """The subject that a claim is on."""
        return self.in_force(self._moved.get(claim, [entered_on])[-1])

    def fitted(self, fitment: str, said: FitmentAdded) -> FitmentAdded:
        """What a fitment joins."""
        joins = {SubjectKind.VEHICLE: said.vehicle, SubjectKind.CARRIER: said.carrier, SubjectKind.FIXING: said.fixing}
        for onto in self._moved.get(fitment, ()):
            joins[onto.kind] = onto.id
        found = {kind: None if id is None else self.in_force(Subject(kind, id)).id for kind, id in joins.items()}
        return msgspec.structs.replace(
            said,
            vehicle=found[SubjectKind.VEHICLE] or said.vehicle,
            carrier=found[SubjectKind.CARRIER] or said.carrier,
            fixing=found[SubjectKind.FIXING],
        )
