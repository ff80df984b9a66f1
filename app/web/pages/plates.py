"""Limits as a plate shows them: one field for each condition, a figure or a refusal in the same place, and below it
what counts, how certain it is, and what stands behind it."""

from collections.abc import Iterable
from typing import Final, NamedTuple

from app.core.claim import Condition
from app.core.mass import Unit
from app.services.inputs import MassUnit
from app.services.views.answers import CapView, FactorView, FigureView, LimitView, MassView, ReducedView, SideView
from app.web.pages.writing import allowed, carried, certainty, said

VETTED_AT: Final = 0.8


class Field(NamedTuple):
    """One field. `value` None is a refusal: then `word` stands in its place. `other` is the other side of the pair,
    where both are known; `lines` are sentences."""

    condition: str
    title: str
    unit: str
    value: float | None
    bound: str
    counts: str
    other: str
    word: str
    confidence: float | None
    roots: int
    vetted: bool
    lines: tuple[str, ...]
    weighs: bool = False

    @property
    def shown(self) -> str:
        """Its figure in tenths, on the safe side."""
        return carried(self.value) if self.weighs else allowed(self.value)


def field(answer: LimitView, name: str) -> Field:
    """A limit as a field of a plate; `name` is what its subject is called."""
    figure, reduced = answer.figure, answer.reduced
    # Without a figure, what is reduced is only what the limit is no more than.
    main, other = _sides(reduced if reduced is not None and figure is not None else figure)
    return Field(
        condition=answer.condition,
        title=said(answer.condition, "condition"),
        unit=answer.unit,
        value=None if main is None else main.value,
        bound="" if main is None else said(main.bound, "bound"),
        counts="" if main is None else said(main.basis, "basis"),
        other="" if other is None else f"and {_side(other, answer.unit)}",
        word="" if answer.refusal is None else said(answer.refusal.kind, "refusal"),
        confidence=None if figure is None else figure.confidence,
        roots=0 if figure is None else figure.roots,
        vetted=answer.vetted,
        lines=tuple(_lines(answer, name)),
    )


def fields(answers: Iterable[LimitView], name: str) -> list[Field]:
    """A whole plate."""
    return [field(each, name) for each in answers]


def _lines(answer: LimitView, name: str) -> Iterable[str]:
    if answer.refusal is not None:
        yield told_refusal(answer.refusal.sentence, answer.subject, name)
    if answer.condition == Condition.PARKED and answer.figure is not None:
        yield "Not while driving."
    if answer.reduced is not None and answer.figure is not None:
        main, _ = _sides(answer.figure)
        if main is not None:
            yield f"{allowed(main.value)} {answer.unit} times {answer.reduced.factor}, its own off-road factor."
    if answer.figure is not None:
        yield from (note.sentence for note in answer.notes)
    if answer.figure is not None and answer.figure.confidence < VETTED_AT:
        yield "Not vetted: less certain than 0.80."
    cap = _cap(answer)
    if cap:
        yield cap


def _cap(answer: LimitView) -> str:
    """What the limit is no more than, where the figure itself does not say so."""
    figure, _ = _sides(answer.figure)
    main, _ = _sides(answer.reduced if answer.reduced is not None and figure is None else answer.cap)
    if main is None:
        return ""
    if figure is not None and figure.bound == "exact":
        return ""
    return f"No more than {allowed(main.value)} {answer.unit}, {said(main.basis, 'basis')}, whatever else turns up."


def mass_field(answer: MassView, name: str) -> Field:
    """An own mass as a field of a plate."""
    refused = answer.refusal
    return Field(
        condition="",
        title="It weighs",
        unit=answer.unit,
        value=answer.value,
        bound=said(answer.bound, "bound"),
        counts=said(answer.basis, "basis") if answer.basis and answer.basis != "not_stated" else "by itself",
        other="",
        word="" if refused is None else said(refused.kind, "refusal"),
        confidence=answer.confidence,
        roots=answer.roots,
        vetted=answer.vetted,
        lines=() if refused is None else (told_refusal(refused.sentence, answer.subject, name),),
        weighs=True,
    )


def factor_field(answer: FactorView) -> Field:
    """An off-road factor as a field of a plate: what a figure is multiplied by on unsealed roads."""
    on = "the roof limit" if answer.applies_to == "roof_limit" else "its own rating"
    sure = () if answer.confidence is None else (f"Confidence {certainty(answer.confidence)}.",)
    return Field(
        condition="",
        title=f"Off road, on {on}",
        unit="",
        value=None,
        bound="",
        counts="",
        other="",
        word="none recorded" if answer.value is None else f"\N{MULTIPLICATION SIGN} {answer.value}",
        confidence=None,
        roots=0,
        vetted=answer.confidence is not None,
        lines=sure,
    )


def told_refusal(sentence: str, subject: str, name: str) -> str:
    """A refusal's sentence, beside the word that already says that there is no figure."""
    _, _, rest = sentence.partition(f" of {subject} is not named. ")
    return rest or sentence.replace(subject, name)


def _sides(pair: FigureView | ReducedView | CapView | None) -> tuple[SideView | None, SideView | None]:
    """What is shown large, and the other side where both are known. All that may be on the roof comes first."""
    if pair is None:
        return None, None
    return (pair.gross, pair.net) if pair.gross is not None else (pair.net, None)


def _side(side: SideView, unit: str) -> str:
    bound = said(side.bound, "bound")
    return " ".join(filter(None, [bound, allowed(side.value), unit, said(side.basis, "basis")]))


def claims_behind(answer: LimitView) -> list[str]:
    """The claims that give an answer, the factor's among them, once each."""
    if answer.figure is None:
        return []
    pairs: list[FigureView | ReducedView | None] = [answer.figure, answer.reduced]
    sides = [side for pair in pairs if pair is not None for side in (pair.gross, pair.net) if side is not None]
    found = [claim for side in sides for claim in side.claims]
    if answer.reduced is not None:
        found += answer.reduced.claims
    return list(dict.fromkeys(found))


def in_words(value: float | None, net: float | None, unit: str) -> str:
    """A figure short enough for a button."""
    if value is not None:
        return f"{allowed(value)} {unit}"
    return "not known" if net is None else f"{allowed(net)} {unit} without the rack"


def mass_unit(unit: Unit) -> MassUnit:
    """A visitor's unit, as questions are asked in it."""
    return "lb" if unit is Unit.LB else "kg"
