"""Kept answers: kept by anybody, shown as they were, and whether they still stand."""

from typing import Any, Final

import msgspec
from fastapi import APIRouter
from starlette.responses import Response

from app.core.errors import CantrailError, Kind
from app.core.mass import Unit
from app.core.permissions import may_take_down
from app.services import kept, looking
from app.services.asked import BudgetIn
from app.services.kept import NewKept, StandingView
from app.services.views.budgets import BudgetView
from app.web.pages.card import address_of_receipt, card_of
from app.web.pages.forms import Filled
from app.web.pages.plan_address import plan_again, plan_of
from app.web.pages.plan_answer import Answer, Verdict, answered, names_in, verdict_of
from app.web.pages.square_codes import square_code
from app.web.pages.visiting import PageRoute, Visit, Visiting
from app.web.pages.writing import allowed, carried, said

router = APIRouter(route_class=PageRoute, include_in_schema=False)

STANDING: Final = {
    "stands": "This answer still stands.",
    "lowered": "Less may be carried now than this says. Do not rely on it.",
    "raised": "More may be carried now than this says.",
    "emptied": "This is not answered any more. Do not rely on it.",
    "filled": "What was not known then is known now.",
}
CHANGED: Final = {"lowered": "lowered it", "raised": "raised it", "emptied": "emptied it", "filled": "filled it"}


@router.post("/receipts")
def keep(visit: Visiting, sent: Filled) -> Response:
    """Keep the answer to a plan. What the plan has wrong with it is shown where it is typed."""
    query = sent.text("plan")
    if not query.isascii():
        raise CantrailError(Kind.INVALID, "bad_query", "A plan is sent as it stands in its address.")
    plan = plan_of(query.encode())
    unit = Unit.LB if (plan.text("unit") or sent.text("unit") or visit.unit) == "lb" else Unit.KG
    if plan.faults:
        return visit.go(f"/plan?{query}")
    try:
        new = NewKept(budget=plan.asked(unit))
        found = kept.keep(visit.registry.database, visit.registry.answers, new, visit.now)
    except CantrailError as error:
        if error.kind is not Kind.INVALID:
            raise
        return visit.go(f"/plan?{query}")
    return visit.go(f"/receipts/{_short(found.receipt.digest)}")


@router.get("/receipts/{digest}")
def receipt(digest: str, visit: Visiting) -> Response:
    """A kept answer, and what became of it."""
    cursor = visit.request.query_params.get("cursor")
    view = visit.read(lambda session: kept.look(session, digest, after=looking.number(cursor)))
    asked = _asked(view)
    visit.unit = Unit(view.answer.get("unit", visit.unit))
    shown: dict[str, Any] = {"view": view, "digest": _short(view.receipt.digest), "cursor": cursor}
    shown |= {"standing": STANDING[view.standing], "changed": CHANGED}
    if asked is None:
        return visit.page("receipt_of_figure.html", **shown, lines=_figure_lines(view.answer), subject=_subject(view))
    answer = _answer(visit, view, asked)
    plan = plan_again(asked)
    return visit.page(
        "receipt.html",
        **shown,
        answer=answer,
        asked=asked,
        now=_now(view, asked),
        again=None if plan is None else plan.address(Unit(asked.unit)),
        told=car_in_words(asked),
    )


@router.get("/receipts/{digest}/card")
def card(digest: str, visit: Visiting) -> Response:
    """A kept answer as a card for the door pillar."""
    view = visit.read(lambda session: kept.look(session, digest, after=0))
    asked = _asked(view)
    if asked is None:
        message = "A card is made of a load that was planned; this receipt is of a figure alone."
        raise CantrailError(Kind.NOT_FOUND, "no_card", message)
    visit.unit = Unit(asked.unit)
    address = address_of_receipt(visit.request, _short(view.receipt.digest))
    return visit.page(
        "card.html",
        card=card_of(_answer(visit, view, asked), asked, view, car_in_words(asked)),
        digest=_short(view.receipt.digest),
        address=address,
        square=None if address is None else square_code(address),
        standing=None if view.standing in {"stands", "filled"} else STANDING[view.standing],
    )


@router.get("/receipts/{digest}/removal")
def ask_removal(digest: str, visit: Visiting) -> Response:
    """Asks whether what was asked is really to be forgotten."""
    may_take_down(visit.need().caller.role)
    return _removal(visit, digest)


@router.post("/receipts/{digest}/removal")
def remove(digest: str, visit: Visiting, sent: Filled) -> Response:
    """Forget what was asked, for good."""
    may_take_down(visit.need().caller.role)
    visit.write(sent, lambda work: kept.remove(work, digest))
    return visit.go(f"/receipts/{_short(digest)}/removal")


def _removal(visit: Visit, digest: str) -> Response:
    try:
        view = visit.read(lambda session: kept.look(session, digest, after=0))
    except CantrailError as error:
        if error.code != "receipt_removed":
            raise
        return visit.page("receipt_removal.html", digest=_short(digest), is_removed=True)
    return visit.form("receipt_removal.html", digest=_short(view.receipt.digest), is_removed=False)


def car_in_words(asked: BudgetIn) -> str:
    """What was said of the car."""
    context = asked.context
    roofs = " with ".join(said(roof, "roof") for roof in context.roofs or ())
    year = "" if context.year is None else str(context.year)
    return ", ".join(filter(None, [year, said(context.body, "body"), roofs, context.market or ""]))


def _short(digest: str) -> str:
    return digest.removeprefix("sha256:")


def _asked(view: StandingView) -> BudgetIn | None:
    """What was planned; None where a figure was asked for."""
    budget = view.request.get("budget")
    return None if budget is None else msgspec.convert(budget, BudgetIn)


def _answer(visit: Visit, view: StandingView, asked: BudgetIn) -> Answer:
    names = visit.read(lambda session: names_in(session, asked))
    return answered(msgspec.convert(view.answer, BudgetView), asked, names)


def _now(view: StandingView, asked: BudgetIn) -> Verdict | None:
    """The verdict today, where it is another."""
    if view.now is None or view.standing == "stands":
        return None
    return verdict_of(msgspec.convert(view.now, BudgetView), asked)


# Figures that were kept by themselves


def _subject(view: StandingView) -> dict[str, str]:
    subject: dict[str, str] = view.request["limit"]["subject"]
    return subject


def _figure_lines(answer: dict[str, Any]) -> list[tuple[str, str]]:
    """A figure by itself, as lines of what it is and what it is worth."""
    unit = answer.get("unit", "")
    lines = []
    for part in ("figure", "reduced", "cap"):
        for side in ("gross", "net"):
            found = (answer.get(part) or {}).get(side)
            if found is not None:
                bound = said(found["bound"], "bound")
                told = f"{bound} {allowed(found['value'])} {unit}, {said(found['basis'], 'basis')}".strip()
                lines.append(({"figure": "Figure", "reduced": "Reduced off road", "cap": "No more than"}[part], told))
    if answer.get("value") is not None:
        lines.append(("Own mass", f"{said(answer['bound'], 'bound')} {carried(answer['value'])} {unit}".strip()))
    lines += [
        (f"Factor on {said(each['applies_to'], 'quantity')}", each["value"] or "not recorded")
        for each in answer.get("factors", ())
    ]
    return lines
