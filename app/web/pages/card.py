"""The card for the door pillar: one condition of one load, to be read in a car park at night."""

import re
from typing import Final

import msgspec
from starlette.requests import Request

from app.core.wording import day
from app.services.asked import BudgetIn, PartIn
from app.services.kept import StandingView
from app.services.views.budgets import BudgetView
from app.web.pages.plan_answer import Answer
from app.web.pages.plan_words import Names
from app.web.pages.writing import allowed, carried, said

HOST: Final = re.compile(r"(?:[A-Za-z0-9](?:[A-Za-z0-9.-]{0,251}[A-Za-z0-9])?|\[[0-9A-Fa-f:.]{2,45}\])(?::[0-9]{1,5})?")
LONG_NAME: Final = 34
VERY_LONG_NAME: Final = 90
MOST_NAMED: Final = 4
MOST_LETTERS: Final = 90


class Card(msgspec.Struct, frozen=True):
    """What stands on a card. `figure` None: what may be carried is not known, and `word` says so in its place."""

    vehicle: str
    size: str
    told: str
    condition: str
    bound: str
    figure: float | None
    word: str
    unit: str
    rack: str
    stops: str
    sticker: str
    load: str
    is_over: bool
    doubt: str
    rests: str
    day: str
    as_of: int
    digest: str


def card_of(answer: Answer, asked: BudgetIn, kept: StandingView, told: str) -> Card:
    """The card of a kept answer."""
    view = answer.view
    vehicle = answer.names.get(asked.vehicle or "", asked.vehicle or "A roof limit as it was given")
    digest = kept.receipt.digest.removeprefix("sha256:")
    floor = any(limit.binds and limit.view.kind == "floor" for limit in answer.limits)
    return Card(
        vehicle=vehicle,
        size="longest" if len(vehicle) > VERY_LONG_NAME else "long" if len(vehicle) > LONG_NAME else "",
        told=told,
        condition=said(view.condition, "condition"),
        bound="at least" if floor else "",
        figure=view.allowed_cargo,
        word=_word(answer),
        unit=view.unit,
        rack=_rack(asked, answer.names),
        stops=_stops(answer),
        sticker=_sticker(answer),
        load=_load(answer),
        is_over=bool(answer.things) and view.verdict == "over",
        doubt=_doubt(view),
        rests=_rests(answer),
        day=day(kept.kept_at[:10]),
        as_of=kept.receipt.as_of,
        digest=" ".join(digest[start : start + 4] for start in range(0, 12, 4)),
    )


def address_of_receipt(request: Request, digest: str) -> str | None:
    """Where the receipt is found from outside: by the name that the server was asked by, which it answers to. None where
    that is no name."""
    host = request.headers.get("host", "")
    if HOST.fullmatch(host) is None:
        return None
    return f"{request.url.scheme}://{host}/receipts/{digest}"


def _word(answer: Answer) -> str:
    view = answer.view
    if view.ceiling is None:
        return "not known"
    return f"not known; never more than {allowed(view.ceiling)} {view.unit}"


def _rack(asked: BudgetIn, names: Names) -> str:
    racks = [names.get(part.id, part.id) if part.id else "rack as it was given" for part in asked.carriers]
    if not racks:
        return "on the roof itself"
    held = ""
    if isinstance(asked.fixing, PartIn):
        held = f", held by {names.get(asked.fixing.id, asked.fixing.id) if asked.fixing.id else 'the fixing as it was given'}"
    return f"on the {' with the '.join(racks)}{held}; what that weighs is counted already"


def _stops(answer: Answer) -> str:
    who = [limit.name for limit in answer.limits if limit.binds]
    if not who:
        return ""
    if answer.view.allowed_cargo is None:
        return f"{' and '.join(dict.fromkeys(who))} {'allow' if len(set(who)) > 1 else 'allows'} no more."
    return f"{' and '.join(dict.fromkeys(who))} {'set' if len(set(who)) > 1 else 'sets'} the limit."


def _sticker(answer: Answer) -> str:
    trap = answer.view.trap
    if trap is None or trap.difference <= 0:
        return ""
    return f"Not {allowed(trap.carrier_rating)} {answer.view.unit}, as the rack’s sticker says."


def _load(answer: Answer) -> str:
    """The load that was planned, in short."""
    view = answer.view
    if not answer.things:
        return ""
    named = ", ".join(answer.things[:MOST_NAMED]) + ("" if len(answer.things) <= MOST_NAMED else " and more")
    if len(named) > MOST_LETTERS:
        named = f"{len(answer.things)} things"
    told = f"Planned with {named}: {carried(view.cargo)} {view.unit}"
    if view.remaining is None:
        return f"{told}."
    left = f"{carried(-view.remaining) if view.remaining < 0 else allowed(view.remaining)} {view.unit} "
    left += "too much" if view.remaining < 0 else "left"
    return f"{told}, {left}."


def _doubt(view: BudgetView) -> str:
    """What must not be overlooked at night: that not all of it was checked, or nobody said what holds the rack."""
    if "fixing_not_said" in view.reasons:
        return "NOT SURE. Nothing says what holds the rack, and that has a limit too."
    if view.vetted or view.allowed_cargo is None:
        return ""
    given = any(each.given for each in view.constraints)
    return f"NOT VETTED. {'Some figures are the asker’s own.' if given else 'Not every figure is certain enough.'}"


def _rests(answer: Answer) -> str:
    view = answer.view
    confidence = "" if view.confidence is None else f"confidence {int(view.confidence * 100 + 1e-9) / 100:.2f}, "
    return f"{confidence}{'vetted' if view.vetted else 'not vetted'}"
