"""What the desk's pages share: a piece of work as it is looked at, a hold in minutes, and what follows when it is done."""

from collections.abc import Callable, Collection, Mapping
from datetime import datetime
from http import HTTPStatus
from typing import Any, Final

from starlette.datastructures import FormData
from starlette.responses import Response

from app.core.desk import READINGS, WorkKind
from app.core.errors import CantrailError, Kind
from app.core.permissions import Scope, require
from app.core.review import RejectionCode
from app.services import at_desk
from app.services.at_desk import Piece
from app.services.work import Work
from app.web.errors import STATUSES
from app.web.pages.desk_forms import plainly
from app.web.pages.forms import Faulty, Sent
from app.web.pages.visiting import Visit

NOTHING: Final = Sent(FormData())
"""A form in which nothing was filled in."""

KINDS: Final[Mapping[str, str]] = {
    "first_reading": "First reading",
    "evidence_brought": "Evidence brought",
    "second_reading": "Second reading",
    "review_due": "Review due",
    "settlement": "Dispute to settle",
    "mismatch": "Claim beyond a reading",
    "derived_again": "Worked back, to look at again",
    "record": "Record to check",
    "near_copy": "Perhaps a copy",
    "find_evidence": "Evidence to find",
}
"""The kinds of work, as the desk lists them."""

READ_BLIND: Final = "readings"
"""All the kinds that begin with a blind reading, together."""

REASONS: Final[Mapping[str, str]] = {
    "wrong_vehicle": "another vehicle is meant",
    "wrong_condition": "another condition is meant: moving or parked, sealed or not",
    "carrier_rating_quoted": "the rack’s own rating was quoted",
    "unit_error": "pounds and kilograms were mixed up",
    "misread": "misread",
    "wrong_scope": "other cars of this vehicle are meant",
    "superseded_edition": "a newer edition says otherwise",
    "no_evidence": "the evidence does not say it",
    "duplicate": "claimed already",
    "other": "something else",
}
assert set(REASONS) == set(RejectionCode)  # noqa: S101

SHOWN_AGAIN: Final = frozenset({Kind.INVALID, Kind.CONFLICT, Kind.FORBIDDEN, Kind.TOO_MANY, Kind.UNAVAILABLE})
"""Refusals after which the form is shown again with what was typed."""


def minutes_left(until: str, now: datetime) -> int:
    """How many minutes a hold still lasts, rounded up."""
    seconds = (datetime.fromisoformat(until) - now).total_seconds()
    return max(int(-(-seconds // 60)), 0)


def kept_to(text: str) -> str:
    """The kind of work that somebody keeps to as it is named in addresses; empty for every kind."""
    return text if text in KINDS or text == READ_BLIND else ""


def kinds_of(text: str) -> Collection[WorkKind] | None:
    """The kinds of work to which somebody keeps, or None for all."""
    if text == READ_BLIND:
        return READINGS
    return {WorkKind(text)} if text in KINDS else None


def look(visit: Visit, id: str) -> Piece:
    """One piece of work. Raises not_found, and forbidden for who does not review."""
    visit.need()
    return visit.read(lambda session: at_desk.piece(session, visit.caller(session), visit.now, id))


def account(visit: Visit) -> str:
    """Who looks."""
    return visit.need().caller.account


def reviewer(visit: Visit) -> str:
    """Who looks. Raises forbidden for who does not review."""
    caller = visit.need().caller
    require(caller.role, caller.scopes, Scope.REVIEW)
    return caller.account


def context(visit: Visit, piece: Piece, **more: Any) -> dict[str, Any]:
    """What every page about a piece of work shows."""
    until = piece.mine_until or piece.held_until
    return {
        "piece": piece,
        "kinds": KINDS,
        "reasons": REASONS,
        "kind": kept_to(visit.request.query_params.get("kind", "")),
        "done": visit.request.query_params.get("done", ""),
        "minutes": None if until is None else minutes_left(until, visit.now),
        "sent": NOTHING,
        "faulty": Faulty(),
        **more,
    }


def finish(visit: Visit, sent: Sent, id: str, told: str, do: Callable[[Work], Any]) -> Response:
    """Do a piece of work, and go on with the next one or back to the desk, as was asked."""

    def unit(work: Work) -> str | None:
        do(work)
        if sent.text("then") != "next":
            return None
        try:
            return at_desk.take_next(work, kinds_of(sent.text("kind")), but={id})
        except CantrailError:
            # It is refused before anything is written: what was done stays done.
            return None

    following = visit.write(sent, unit)
    return visit.go("/desk" if following is None else f"/desk/{following}", done=told, **kept(sent))


def kept(sent: Sent) -> dict[str, str]:
    """What is carried on in addresses: the kind of work that somebody keeps to."""
    return {"kind": kind} if (kind := kept_to(sent.text("kind"))) else {}


def again(visit: Visit, error: CantrailError, show: Callable[[int, Faulty], Response]) -> Response:
    """The form again, with what was typed and what was wrong. Raises what cannot be mended there."""
    if error.kind not in SHOWN_AGAIN:
        raise error
    visit.request.state.code = error.code
    return show(STATUSES.get(error.kind, HTTPStatus.CONFLICT), Faulty(plainly(error)))
