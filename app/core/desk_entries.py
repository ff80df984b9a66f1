"""Ledger entries on work that the desk brings about: a steward's look at a mismatch, and a claim renewed."""

from typing import ClassVar

from app.core.payload import Payload


class MismatchJudged(Payload, frozen=True):
    """A steward has looked at a reading that the claim goes beyond: `finding` says what was wrong. The reading's points
    stay as they are whatever is found."""

    type: ClassVar[str] = "mismatch_judged"
    claim: str
    reading: str
    finding: str
    reason_sha256: str


class ClaimRenewed(Payload, frozen=True):
    """Two reviewers who had not read a claim before have read it after its review-by date and approved it: its time
    begins again."""

    type: ClassVar[str] = "claim_renewed"
    claim: str
