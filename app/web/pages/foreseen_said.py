"""What would change, in words: each figure before and after, those that would go up first."""

from collections.abc import Iterable
from typing import Final, NamedTuple

from app.persistence.session import AnySession
from app.services.calling import called
from app.services.foreseeing_figures import Amount, FigureChanged, WouldChange
from app.web.pages.telling import PLACES, Effect, Piece, amount, effects
from app.web.pages.writing import carried, said

ORDER: Final = ("raised", "set", "lowered", "emptied", "otherwise")
"""What could hurt somebody comes first."""

_COUNTED: Final = {
    "raised": "{} up",
    "set": "{} named where none was",
    "lowered": "{} down",
    "emptied": "{} named no more",
    "otherwise": "{} otherwise",
}
_ON: Final = {"own_rating": "on its own rating", "roof_limit": "on the roof limit", "both": "on both"}


class Would(NamedTuple):
    """Figures that would change alike: how, of what, for which cars and conditions, and before and after in words."""

    code: str
    about: Piece
    where: list[str]
    before: str | None
    after: str | None


class Foretold(NamedTuple):
    """All that would change: in a sentence, figure by figure, and how many more records are reached."""

    sentence: str
    figures: list[Would]
    more: int


def foretold(session: AnySession, changed: WouldChange, unit: str) -> Foretold:
    """What would change, in words and in one unit."""
    names = called(session, [each.subject for each in changed.figures])
    told = [
        *effects(session, changed.plates, unit),
        *(_effect(each, names[each.subject], unit) for each in changed.figures),
    ]
    return Foretold(_sentence(told), alike(told), changed.more)


def _sentence(told: list[Effect]) -> str:
    if not told:
        return "No figure that was looked at changes."
    counts = {code: sum(1 for each in told if each.code == code) for code in ORDER}
    parts = [_COUNTED[code].format(n) for code, n in counts.items() if n]
    return f"{len(told)} {'figure changes' if len(told) == 1 else 'figures change'}: {', '.join(parts)}."


def alike(told: Iterable[Effect]) -> list[Would]:
    """Figures of one thing that change alike together, what could hurt somebody first."""
    found: dict[tuple[str, Piece, str | None, str | None], list[str]] = {}
    for each in told:
        found.setdefault((each.code, each.vehicle, each.before, each.after), []).append(each.where)
    ordered = sorted(found.items(), key=lambda item: ORDER.index(item[0][0]))
    return [Would(code, about, where, before, after) for (code, about, before, after), where in ordered]


def _effect(changed: FigureChanged, name: str, unit: str) -> Effect:
    about = Piece(name, PLACES[changed.subject.kind] + changed.subject.id)
    in_condition = said(changed.condition, "condition_in")
    applies = "" if changed.applies_to is None else _ON.get(changed.applies_to, changed.applies_to)
    where = " ".join(filter(None, [said(changed.quantity, "quantity"), in_condition, applies]))
    code = _code(changed.before, changed.after)
    return Effect(code, about, where, code, _amount(changed.before, unit), _amount(changed.after, unit))


def _code(before: Amount | None, after: Amount | None) -> str:
    """How a limit changes. Of what a thing weighs, and of factors, it is not said: more of them allows less."""
    if any(each is not None and (each.weighs is not None or each.factor is not None) for each in (before, after)):
        return "otherwise"
    if before is None or after is None:
        return "set" if before is None else "emptied"
    sides = [(before.gross, after.gross), (before.net, after.net)]
    lowered = any(now is not None and (was is None or now < was) for was, now in sides)
    return "lowered" if lowered else "raised"


def _amount(given: Amount | None, unit: str) -> str | None:
    if given is None:
        return None
    if given.weighs is not None:
        return f"{carried(given.weighs)} {unit}"
    return given.factor or amount({"gross": given.gross, "net": given.net}, unit)
