"""A claim said back in one sentence, and in words what would raise its confidence."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from app.core.claim import SourceType, Statement
from app.core.confidence import Explanation
from app.core.mass import Per, Unit
from app.core.review import ClaimFacts
from app.core.scope import ALL, Dimension, Scope, Years
from app.services.views.records import DocumentView
from app.web.pages.writing import on_day, said

EVERY: Final[Mapping[Dimension, str]] = {
    Dimension.YEARS: "of every year",
    Dimension.BODIES: "any body",
    Dimension.ROOFS: "any roof",
    Dimension.MARKETS: "any market",
}
SILENT_ON: Final[Mapping[Dimension, str]] = {
    Dimension.YEARS: "years",
    Dimension.BODIES: "bodies",
    Dimension.ROOFS: "roofs",
    Dimension.MARKETS: "markets",
}
BASIS_UNSAID: Final = "the source does not say whether the rack counts"


def sentence(claim: ClaimFacts, name: str, source: str) -> str:
    """A claim as somebody would say it: the cars, the figure with its condition and basis, and who says so."""
    cars = [text for dimension in Dimension if (text := _cars(claim.statement.scope, dimension))]
    silent = [SILENT_ON[each] for each in Dimension if claim.statement.scope.spoken(each) is None]
    has_scope = claim.subject.kind in {"vehicle", "fitment"}
    head = ", ".join([f"The {name}{' ' + cars.pop(0) if cars and cars[0].startswith('of ') else ''}", *cars])
    told = f"{head}: {', '.join(_figure(claim.statement))}, {source}."
    if has_scope and silent:
        told += f" It does not say which {_listed(silent, 'or')}."
    return told


def source(claim: ClaimFacts, documents: Mapping[str, str]) -> str:
    """Who says so: the place of each citation."""
    if claim.source_type is SourceType.ACCESSORY_DERIVED:
        rows = () if claim.derivation is None else claim.derivation.rows
        return f"worked back from {len(rows)} {'row' if len(rows) == 1 else 'rows'} of accessory pages"
    if not claim.citations:
        return "says nobody who is named"
    places = []
    for cited in claim.citations:
        place = f"page {cited.page} of " if cited.page else f"{cited.locator} of " if cited.locator else ""
        places.append(f"{place}{documents[cited.document]}")
    return f"says {_listed(places, 'and')}"


def document_called(view: DocumentView, publisher: str) -> str:
    """A document as one speaks of it."""
    what = said(view.kind, "document") if view.kind != "other" else "a document"
    parts = [f"“{view.title}”" if view.title else f"the {what}" if view.kind != "other" else what]
    if view.edition:
        parts.append(f"({view.edition})")
    elif view.published:
        parts.append(f"({on_day(view.published)})")
    return " ".join([*parts, f"by {publisher}"])


def raises(explanation: Explanation, claim: ClaimFacts) -> list[str]:
    """What would make a claim more certain than it is as entered, the most telling first."""
    return list(_raises({point.code for point in explanation.points}, claim))


def _raises(codes: set[str], claim: ClaimFacts) -> Iterator[str]:
    if "artefact.nothing_cited" in codes:
        yield "Cite a document: a photo of the page, or its address."
    if "artefact.not_held" in codes:
        yield "The address has not been fetched yet. Once what is published there is kept here, the evidence is held."
    if claim.source_type is SourceType.MAKER_STATEMENT:
        yield "A page of the maker’s own handbook, or a photograph of its plate, counts for more than a statement."
    if claim.source_type is SourceType.ACCESSORY_DERIVED:
        yield "A page that states the limit itself; or further accessory pages of different mass that agree."
    if "reading.not_found" in codes:
        yield "The machine does not find this figure on the page. Check the page number, the figure and its unit."
    elif "reading.found" not in codes and claim.citations and claim.derivation is None:
        yield "The machine has not found the figure on the page yet: give the page number, or a sharper picture."
    if claim.subject.kind in {"vehicle", "fitment"} and "scope.speaks" not in codes:
        yield "Say which years, bodies and roofs the page speaks on, if it does: its title or first pages may say so."
    if claim.statement.basis is not None and "basis.stated" not in codes:
        yield "Say whether the figure counts the rack, if the page says so anywhere."
    if not any(code.startswith("agreement.") for code in codes):
        yield "A second source that is no copy of this one and says the same."


def _cars(scope: Scope, dimension: Dimension) -> str:
    spoken = scope.spoken(dimension)
    match spoken:
        case None:
            return ""
        case Years():
            return f"of {years(spoken)}"
        case tuple():
            family = {Dimension.BODIES: "body", Dimension.ROOFS: "roof"}.get(dimension)
            words = [str(each) if family is None else said(each, family) for each in spoken]
            return _listed(words, "or")
        case _:
            return EVERY[dimension] if spoken == ALL else ""


def years(spoken: Years) -> str:
    """Model years as people say them."""
    if spoken.last is None:
        return f"{spoken.first} on"
    return str(spoken.first) if spoken.first == spoken.last else f"{spoken.first} to {spoken.last}"


def _figure(statement: Statement) -> Iterator[str]:
    stated = statement.stated
    bound = said(statement.bound, "bound")
    if stated.unit is Unit.FACTOR:
        yield f"off road, {stated.value} of {_applies(statement)}"
        return
    amount = f"{bound} {stated.value} {stated.unit}".strip()
    per = "" if statement.per in {None, Per.TOTAL} else f" {said(statement.per, 'per')}"
    when = "" if statement.condition is None else f" {said(statement.condition, 'condition_in')}"
    yield f"{amount}{per}{when}"
    if statement.basis == "not_stated":
        yield BASIS_UNSAID
    elif statement.basis is not None:
        left_out = statement.excluded_mass
        weighing = "" if left_out is None else f" (a rack of {left_out.value} {left_out.unit})"
        yield f"{said(statement.basis, 'basis')}{weighing}"


def _applies(statement: Statement) -> str:
    match statement.applies_to:
        case "own_rating":
            return "its own rating"
        case "roof_limit":
            return "the roof limit"
        case _:
            return "both the roof limit and its own rating"


def _listed(words: Sequence[str], last: str) -> str:
    *most, end = words
    return f"{', '.join(most)} {last} {end}" if most else end
