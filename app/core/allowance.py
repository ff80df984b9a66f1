"""How much a newcomer may submit in a day. It rises with every claim of theirs that two reviewers approved, and ends
once they are known. It keeps a flood off the desk; it says nothing of what a claim is worth."""

from enum import StrEnum
from typing import Final

from app.core.desk import KNOWN_FROM


class Submitted(StrEnum):
    """What is counted by the day."""

    CLAIMS = "claims"
    DOCUMENTS = "documents"
    SUBJECTS = "subjects"
    ENQUIRIES = "enquiries"
    SET_ASIDE = "set_aside"


A_DAY: Final[dict[Submitted, int]] = {
    Submitted.CLAIMS: 40,
    Submitted.DOCUMENTS: 80,
    Submitted.SUBJECTS: 40,
    Submitted.ENQUIRIES: 40,
    Submitted.SET_ASIDE: 20,
}
"""How much in a day by somebody none of whose claims was approved yet."""


def allowance(what: Submitted, approved: int) -> int | None:
    """How many a day by somebody of whose claims so many were approved by two reviewers; None where there is no limit."""
    return None if approved >= KNOWN_FROM else A_DAY[what] * (1 + approved)
