"""What the forms about people are made into, and how they are shown again when that is refused."""

from collections.abc import Callable
from http import HTTPStatus
from typing import Any, Final, TypeVar

import msgspec
from starlette.responses import Response

from app.core.errors import CantrailError, Kind
from app.services.inputs import Input
from app.services.people_inputs import Proof
from app.web.bodies import BodyDecoder
from app.web.errors import STATUSES
from app.web.pages.forms import Faulty, Sent
from app.web.pages.visiting import Visit

Wanted = TypeVar("Wanted", bound=Input)

PROOF_FAILED: Final = (
    "The password or the one-time password is wrong. Where one-time passwords are on, give one that was not used yet, or "
    "a recovery code."
)
_SHOWN_AGAIN: Final = frozenset({Kind.INVALID, Kind.CONFLICT, Kind.TOO_MANY, Kind.UNAVAILABLE})


def wanted(kind: type[Wanted], /, **given: Any) -> Wanted:
    """A body of one type; what is empty is as good as absent. Raises bad input with the fault of each field."""
    said = {name: each for name, each in given.items() if each is not None and each != ""}
    return BodyDecoder(kind).decode(msgspec.json.encode(said))


def whole_number(text: str) -> int | str:
    """What was typed where a number belongs; whatever is none is left for the body's own judgement."""
    return int(text) if text.isascii() and text.isdigit() and len(text) < len("1000000") else text


def prove(visit: Visit, sent: Sent) -> None:
    """Raises where it is not still who signed in."""
    signed_in = visit.entered()
    proof = wanted(Proof, password=sent.exact("_password"), code=sent.or_none("_code"))
    visit.registry.signing_in.prove(signed_in, proof, address=visit.address, now=visit.now)


def again(
    visit: Visit, error: CantrailError, show: Callable[[int, Faulty], Response], *, wrong: str = PROOF_FAILED
) -> Response:
    """The form again, with what was wrong. Raises what cannot be mended by filling it in otherwise."""
    is_wrong = error.code == "sign_in_failed"
    if not is_wrong and error.kind not in _SHOWN_AGAIN:
        raise error
    visit.request.state.code = error.code
    told = CantrailError(Kind.INVALID, error.code, wrong) if is_wrong else error
    response = show(HTTPStatus.UNPROCESSABLE_ENTITY if is_wrong else STATUSES[error.kind], Faulty(told))
    if "retry_after" in error.details:
        response.headers["Retry-After"] = str(error.details["retry_after"])
    return response
