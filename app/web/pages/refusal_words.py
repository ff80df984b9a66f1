"""What a refusal says to somebody at a page, where the registry's own sentence speaks to programs."""

import re
from collections.abc import Mapping
from typing import Final

from app.web.pages.writing import at_minute

UNIT_MISSING: Final = "Say in which unit the page prints it."

_HEADINGS: Final[Mapping[int, str]] = {
    403: "This is not for you to do",
    404: "There is nothing here",
    405: "This cannot be opened",
    408: "This took too long to come",
    413: "This is too large",
    415: "This cannot be taken",
    429: "Too much at once",
    503: "This cannot be done now",
}

_SENTENCES: Final[Mapping[str, str]] = {
    "body_too_large": "More came than can be taken at once. A file has 20 MiB at most: send the pages that matter, or a "
    "smaller picture of them.",
    "cross_site": "It was sent by another site's page, or by a browser that does not say where it was sent from.",
    "idempotency_key_reused": "This form was sent once already, and that was done. What you typed since then was not "
    "sent: send it if it is something further.",
    "internal_error": "Something went wrong in the registry itself, and not by what you did. It has been logged.",
    "method_not_allowed": "This address is a step of a form, and cannot be opened by itself.",
    "no_such_receipt": "No answer is kept under this address. It is long, and counts to the last letter: scan the "
    "card's code, or follow the link that you were given.",
    "no_such_route": "No page has this address.",
    "not_read": "Read the evidence first, without looking at what is claimed.",
}

_CUT: Final = re.compile(r" Find its id with the list of [a-z]+\.")
_MANY: Final = re.compile(r"([0-9]+) things are wrong with this request\.")
_KEY: Final = "send it again with the same idempotency key"
_TIME: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}(:[0-9]{2}(\.[0-9]+)?)?Z")


def heading(status: int) -> str:
    """What stands above a refusal."""
    return _HEADINGS.get(status, "This did not work" if status >= 500 else "This was not done")


def sentence(code: str, told: str) -> str:
    """Why something is refused: words of the pages' own for some codes, or else what the registry says."""
    if code in _SENTENCES:
        return _SENTENCES[code]
    plain = _MANY.sub(r"\1 things need another look.", _CUT.sub("", told))
    plain = plain.replace(_KEY, "send the same form again: it is done once")
    return _TIME.sub(lambda found: f"{at_minute(found[0])} UTC", plain)


def beside(code: str, told: str) -> str:
    """What is wrong with a field, told beside it: whoever reads that sees the field, and need not be told its name."""
    return "This is missing." if code == "missing" and told.startswith("`") else told.replace("`", "")
