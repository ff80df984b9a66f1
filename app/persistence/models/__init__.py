"""The tables, one a file. Importing this brings them all into the metadata."""

from app.persistence.base import Row
from app.persistence.models.account import Account
from app.persistence.models.carrier import Carrier
from app.persistence.models.citation import Citation
from app.persistence.models.claim import Claim
from app.persistence.models.confirmation import SubjectConfirmation
from app.persistence.models.copy_judgement import CopyJudgement
from app.persistence.models.decision import Decision
from app.persistence.models.dispute import Dispute
from app.persistence.models.document import Document
from app.persistence.models.enquiry import Enquiry
from app.persistence.models.fitment import Fitment
from app.persistence.models.fixing import Fixing
from app.persistence.models.gear import Gear
from app.persistence.models.held_text import HeldText
from app.persistence.models.idempotency_key import IdempotencyKey
from app.persistence.models.ledger_entry import MAX_BODY, LedgerEntry
from app.persistence.models.ledger_head import LedgerHead
from app.persistence.models.ledger_stream import LedgerStream
from app.persistence.models.outbox_job import OutboxJob
from app.persistence.models.publisher import Publisher
from app.persistence.models.reading import Reading
from app.persistence.models.settlement import Settlement
from app.persistence.models.sketch import Sketch
from app.persistence.models.snapshot import Snapshot
from app.persistence.models.taken_input import TakenInput
from app.persistence.models.token import Token
from app.persistence.models.vehicle import Vehicle

__all__ = [
    "MAX_BODY",
    "Account",
    "Carrier",
    "Citation",
    "Claim",
    "CopyJudgement",
    "Decision",
    "Dispute",
    "Document",
    "Enquiry",
    "Fitment",
    "Fixing",
    "Gear",
    "HeldText",
    "IdempotencyKey",
    "LedgerEntry",
    "LedgerHead",
    "LedgerStream",
    "OutboxJob",
    "Publisher",
    "Reading",
    "Row",
    "Settlement",
    "Sketch",
    "Snapshot",
    "SubjectConfirmation",
    "TakenInput",
    "Token",
    "Vehicle",
]
