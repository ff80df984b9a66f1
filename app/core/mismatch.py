"""What a steward finds of a blind reading beyond which a claim goes.

No finding takes the reading's points away: nothing that one account says raises a figure, and a mismatch is counted
as it was read. `claim_goes_beyond` stops further approvals at once; only two other stewards' `reading_mistaken`, on
the same reading, lets them go on.
"""

from collections.abc import Iterable
from enum import StrEnum

import msgspec

TO_OVERRULE = 2
"""How many stewards it takes to let approvals go on that one has stopped."""


class Finding(StrEnum):
    """What was wrong where a claim and a blind reading differ."""

    CLAIM_GOES_BEYOND = "claim_goes_beyond"
    READING_MISTAKEN = "reading_mistaken"
    PAGE_UNCLEAR = "page_unclear"


class Judgement(msgspec.Struct, frozen=True):
    """One steward's finding on one reading."""

    id: str
    reading: str
    steward: str
    finding: str
    reason_sha256: str
    at: str


def stops_approval(judgements: Iterable[Judgement]) -> bool:
    """Whether a claim may be approved no further: some steward found that it goes beyond a reading, and fewer than two
    found that reading mistaken."""
    beyond: set[str] = set()
    mistaken: dict[str, set[str]] = {}
    for each in judgements:
        if each.finding == Finding.CLAIM_GOES_BEYOND:
            beyond.add(each.reading)
        elif each.finding == Finding.READING_MISTAKEN:
            mistaken.setdefault(each.reading, set()).add(each.steward)
    return any(len(mistaken.get(reading, ())) < TO_OVERRULE for reading in beyond)
