"""The tables, one a file. Importing this brings them all into the metadata."""

from app.persistence.base import Row
from app.persistence.models.account import Account
from app.persistence.models.asked_count import AskedCount
from app.persistence.models.carrier import Carrier
from app.persistence.models.citation import Citation
from app.persistence.models.claim import Claim
from app.persistence.models.confirmation import SubjectConfirmation
from app.persistence.models.copy_judgement import CopyJudgement
from app.persistence.models.correction import Correction
from app.persistence.models.day_tally import DayTally
from app.persistence.models.decision import Decision
from app.persistence.models.declared_interest import DeclaredInterest
from app.persistence.models.desk_hold import DeskHold
from app.persistence.models.desk_work import DeskWork
from app.persistence.models.dispute import Dispute
from app.persistence.models.document import Document
from app.persistence.models.enquiry import Enquiry
from app.persistence.models.fitment import Fitment
from app.persistence.models.fixing import Fixing
from app.persistence.models.gear import Gear
from app.persistence.models.held_text import HeldText
from app.persistence.models.idempotency_key import IdempotencyKey
from app.persistence.models.kept_receipt import KeptReceipt
from app.persistence.models.known_address import KnownAddress
from app.persistence.models.ledger_entry import MAX_BODY, LedgerEntry
from app.persistence.models.ledger_head import LedgerHead
from app.persistence.models.ledger_node import LedgerNode
from app.persistence.models.ledger_stream import LedgerStream
from app.persistence.models.mismatch_judgement import MismatchJudgement
from app.persistence.models.one_time_password import OneTimePassword
from app.persistence.models.outbox_job import OutboxJob
from app.persistence.models.placement import Placement
from app.persistence.models.publisher import Publisher
from app.persistence.models.reading import Reading
from app.persistence.models.settlement import Settlement
from app.persistence.models.sign_in_count import SignInCount
from app.persistence.models.single_use_code import Purpose, SingleUseCode
from app.persistence.models.sketch import Sketch
from app.persistence.models.snapshot import Snapshot
from app.persistence.models.standing_confirmation import StandingConfirmation
from app.persistence.models.taken_input import TakenInput
from app.persistence.models.token import Token
from app.persistence.models.vehicle import Vehicle
from app.persistence.models.web_session import WebSession

__all__ = [
    "MAX_BODY",
    "Account",
    "AskedCount",
    "Carrier",
    "Citation",
    "Claim",
    "CopyJudgement",
    "Correction",
    "DayTally",
    "Decision",
    "DeclaredInterest",
    "DeskHold",
    "DeskWork",
    "Dispute",
    "Document",
    "Enquiry",
    "Fitment",
    "Fixing",
    "Gear",
    "HeldText",
    "IdempotencyKey",
    "KeptReceipt",
    "KnownAddress",
    "LedgerEntry",
    "LedgerHead",
    "LedgerNode",
    "LedgerStream",
    "MismatchJudgement",
    "OneTimePassword",
    "OutboxJob",
    "Placement",
    "Publisher",
    "Purpose",
    "Reading",
    "Row",
    "Settlement",
    "SignInCount",
    "SingleUseCode",
    "Sketch",
    "Snapshot",
    "StandingConfirmation",
    "SubjectConfirmation",
    "TakenInput",
    "Token",
    "Vehicle",
    "WebSession",
]
