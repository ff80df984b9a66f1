"""What a claim says, where it stands and what it does, in sentences."""

from collections.abc import Iterator, Sequence
from typing import Any, Final

from app.core.claim import Quantity, SourceType
from app.core.lifecycle import State
from app.core.mass import Unit
from app.core.scope import ALL, Dimension, Scope, Years
from app.services.claim_effects import EffectView
from app.services.views.plates import CellView
from app.services.whole_claim import ClaimLine, WholeClaim
from app.web.pages.writing import allowed, mass, on_day, said, value

DIMENSIONS: Final[dict[Dimension, tuple[str, str]]] = {
    Dimension.YEARS: ("Years", "years"),
    Dimension.BODIES: ("Bodies", "bodies"),
    Dimension.ROOFS: ("Roofs", "roofs"),
    Dimension.MARKETS: ("Markets", "markets"),
}
_PER: Final = {"bar": "for each bar", "pair": "for each pair of bars", "foot": "for each foot"}
_APPLIES: Final = {
    "own_rating": "its own rating",
    "roof_limit": "the roof limit",
    "both": "its own rating and the roof limit",
}
_MOST_CELLS: Final = 6


# What it says


def figure(line: ClaimLine, unit: str, each: float | None = None, per: str | None = None) -> str:
    """A claim's figure with bound and unit: in all, and for each bar, pair or foot where that is what is said."""
    if line.quantity == Quantity.OFF_ROAD_FACTOR:
        return line.value
    bound = said(line.bound, "bound")
    if each is not None and per is not None:
        alone = f"{mass(each, line.quantity)} {unit} {_PER[per]}"
        whole = f"{alone} ({mass(line.amount, line.quantity)} {unit} in all)" if line.amount is not None else alone
    elif line.amount is None:
        whole = f"{line.value} for each of an unknown number"
    else:
        whole = f"{mass(line.amount, line.quantity)} {unit}"
    return f"{bound} {whole}" if bound else whole


def sentence(whole: WholeClaim, unit: str) -> str:
    """The claim in one sentence: who says it, of what, which figure, when, and what it counts."""
    claim, line = whole.claim, whole.line
    name = line.subject.name
    amount = figure(line, unit, whole.each, claim.per)
    when = said(line.condition, "condition_in")
    match Quantity(line.quantity):
        case Quantity.ROOF_LIMIT:
            what = f"the roof of the {name} may carry {amount} {when}, {_basis(whole, unit)}"
        case Quantity.LOAD_RATING:
            what = f"{_the(whole)} may carry {amount} {when}, {_basis(whole, unit)}"
        case Quantity.OWN_MASS:
            basis = said(claim.basis, "basis") if claim.basis and claim.basis != "not_stated" else ""
            what = f"{_the(whole)} weighs {amount}{f', {basis}' if basis else ''}"
        case Quantity.OFF_ROAD_FACTOR:
            of = _APPLIES[claim.applies_to or "both"]
            what = f"off road, {of} is to be multiplied by {amount}, with {_the(whole)}"
            if line.subject.kind == "vehicle":
                what = f"off road, the roof limit of the {name} is to be multiplied by {amount}"
    cars = _cars(claim.scope) if line.subject.kind in {"vehicle", "fitment"} else ""
    return f"{_who(whole)} {what}{cars}."


def _the(whole: WholeClaim) -> str:
    subject = whole.line.subject
    if subject.kind == "fitment" and subject.carrier and subject.vehicle:
        return f"the {subject.carrier.name}, on the {subject.vehicle.name},"
    return f"the {subject.name}"


def _who(whole: WholeClaim) -> str:
    publisher = whole.line.publisher
    match SourceType(whole.claim.source_type):
        case SourceType.MANUAL_PAGE:
            return f"A page of {publisher or 'the maker'} says that"
        case SourceType.MAKER_STATEMENT:
            return f"{publisher or 'The maker'} states that"
        case SourceType.ACCESSORY_DERIVED:
            return "Worked back from what is published:"
        case SourceType.UNVERIFIED:
            return f"{publisher} says, unverified, that" if publisher else "Somebody says, without a source, that"


def _basis(whole: WholeClaim, unit: str) -> str:
    basis = whole.claim.basis or "not_stated"
    if basis == "not_stated":
        counted = "the rack counts" if whole.line.subject.kind == "vehicle" else "it counts itself"
        return f"and does not say whether {counted}, so it is read as counted"
    if basis == "excludes_carrier" and whole.excluded is not None:
        return f"rack not included, which is taken to weigh {allowed(whole.excluded)} {unit}"
    return basis_words(whole.line)


def basis_words(line: ClaimLine) -> str:
    """What a figure counts, in words that fit what it is about; nothing for a factor."""
    basis = line.basis or ("" if line.quantity == Quantity.OFF_ROAD_FACTOR else "not_stated")
    if line.quantity == Quantity.OWN_MASS:
        return "does not say whether fittings count" if basis == "not_stated" else said(basis or None, "basis")
    if line.subject.kind != "vehicle":
        itself = {
            "includes_carrier": "itself included",
            "excludes_carrier": "not counting itself",
            "not_stated": "does not say whether it counts itself",
        }
        return itself.get(basis, "")
    return said(basis or None, "basis")


def _cars(scope: Scope) -> str:
    given = [
        _values(scope.spoken(dimension), dimension)
        for dimension in Dimension
        if scope.spoken(dimension) not in {None, ALL}
    ]
    return f" ({'; '.join(given)})" if given else ""


def _values(spoken: Any, dimension: Dimension) -> str:
    if isinstance(spoken, Years):
        return years(spoken)
    return ", ".join(value(each, dimension) for each in spoken)


def years(given: Years) -> str:
    """Model years as people write them."""
    if given.last is None:
        return f"{given.first} on"
    return str(given.first) if given.first == given.last else f"{given.first} to {given.last}"


def scope_rows(scope: Scope) -> list[tuple[str, str, bool]]:
    """What the claim speaks on, dimension by dimension, and whether its source says anything there."""
    rows = []
    for dimension, (title, plural) in DIMENSIONS.items():
        spoken = scope.spoken(dimension)
        if spoken is None:
            rows.append((title, f"the source says nothing of {plural}", False))
        elif spoken == ALL:
            rows.append((title, f"all {plural}, it says", True))
        else:
            rows.append((title, _values(spoken, dimension), True))
    return rows


# Where it stands


def standing(whole: WholeClaim) -> str:
    """Where a claim stands and what that means, in a sentence."""
    claim = whole.claim
    match claim.state:
        case State.SUBMITTED:
            return "No reviewer has decided on it yet. It changes no answer."
        case State.NEEDS_EVIDENCE:
            return "A reviewer asked for more evidence. It changes no answer until that is there."
        case State.APPROVED if claim.approvals == 1:
            return "One reviewer has approved it: it can lower an answer already. To give one it takes a second."
        case State.APPROVED:
            return f"Two reviewers read it blind and approved it.{_due(whole)}"
        case State.DISPUTED:
            return (
                "Evidence is held against it. Until that is settled it gives no answer, but still holds answers down."
            )
        case State.SUPERSEDED:
            return "A newer claim has taken its place. It changes no answer."
        case State.REJECTED:
            return "Reviewers refused it. It changes no answer."
        case State.WITHDRAWN:
            return "Whoever entered it took it back. It changes no answer."


def _due(whole: WholeClaim) -> str:
    claim = whole.claim
    if claim.overdue_years is not None:
        past = f"by {claim.overdue_years} years" if claim.overdue_years > 1 else "by a year"
        return f" Its review is overdue{f' {past}' if claim.overdue_years else ''}."
    return f" To be read again by {on_day(claim.review_by)}." if claim.review_by else ""


def does(whole: WholeClaim, unit: str) -> list[str]:
    """What a claim does to the answers, a sentence each; why it does nothing, where it does nothing."""
    if whole.effects:
        return list(_effects(whole, unit))
    claim = whole.claim
    if claim.state not in {State.APPROVED, State.DISPUTED}:
        return []
    if claim.quantity == Quantity.OFF_ROAD_FACTOR:
        return [
            "Where nothing lower is approved, this factor multiplies what may be carried off road."
            if claim.binds
            else "It does nothing yet."
        ]
    if claim.sets:
        return ["It is certain enough to give the answer, but other claims decide it today."]
    if claim.binds:
        return ["It may only lower an answer, and nothing it says is lower than what stands today."]
    return ["It does nothing to the answers today."]


def _effects(whole: WholeClaim, unit: str) -> Iterator[str]:
    """One sentence for each figure and the same cars, with the conditions in which it is given."""
    alike: dict[tuple[str, str, str], list[str]] = {}
    for each in whole.effects:
        cars = f" for {cells(each.cells)}" if each.cells else ""
        when = said(each.condition, "condition_in")
        alike.setdefault((each.does, cars, _amount(each, unit, whole)), []).append(when)
    for (effect, cars, amount), conditions in alike.items():
        *most, last = [each for each in conditions if each] or [""]
        when = f"{', '.join(most)} and {last}" if most else last
        if effect == "gives":
            yield f"It gives the answer{f' {when}' if when else ''}{cars}: {amount}."
        else:
            yield f"There is no answer {when}{cars}; but because of this claim no more than {amount}."


def _amount(each: EffectView, unit: str, whole: WholeClaim) -> str:
    of_vehicle = whole.line.subject.kind == "vehicle"
    words = {"gross": "rack included", "net": "for the load alone"}
    if not of_vehicle:
        words = {"gross": "itself included", "net": "for what is on it"}
    bound = said(each.bound, "bound") if each.does == "gives" else ""
    counted = f", {words[each.side]}" if each.side else ""
    return f"{bound + ' ' if bound else ''}{mass(each.amount, whole.line.quantity)} {unit}{counted}"


def cells(given: Sequence[Sequence[CellView]]) -> str:
    """Cars by the values by which claims tell them apart, a few of them."""
    told = [", ".join(_cell(cell) for cell in car) for car in given[:_MOST_CELLS]]
    further = len(given) - len(told)
    return "; ".join(told) + (f"; and {further} more" if further > 0 else "")


def _cell(cell: CellView) -> str:
    return " or ".join(
        years(each) if isinstance(each, Years) else _other(str(each), cell.dimension) for each in cell.values
    )


def _other(given: str, dimension: str) -> str:
    if given == "none_of_these":
        return f"another {said(dimension, 'dimension')}"
    return value(given, dimension)


def as_printed(whole: WholeClaim, unit: Unit) -> str | None:
    """The figure as its source prints it, where that is another unit or number than is shown."""
    stated = whole.claim.stated
    if stated.unit == "factor" or (stated.unit == unit and whole.claim.per in {None, "total"}):
        return None
    per = f" {_PER[whole.claim.per]}" if whole.claim.per in _PER else ""
    return f"{stated.value} {stated.unit}{per}"
