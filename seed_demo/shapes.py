"""The shapes that the scenario's data come in.

Bodies have exactly the field names of the API; ids that the ledger gives out (of claims, documents and fitments)
are local keys here, which the loader turns into ids as it goes.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, Literal, TypeAlias, TypedDict, TypeVar

# "from" is a reserved word, so this one is written as a call.
Years = TypedDict("Years", {"from": int, "to": int | None})


class AccountBody(TypedDict):
    name: str
    role: str


class PublisherBody(TypedDict):
    name: str
    kind: str
    importer_of: list[str]


class VehicleBody(TypedDict):
    maker: str
    model: str
    series: str
    years: Years
    bodies: list[str] | None
    roofs: list[str] | None
    markets: list[str] | None


class CarrierBody(TypedDict):
    maker: str
    model: str
    series: str
    first_year: int
    kind: str
    bars: int | None
    fixing: str | None


class FixingBody(TypedDict):
    maker: str
    model: str
    series: str
    first_year: int
    feet: int | None
    holds: list[str]


class GearBody(TypedDict):
    maker: str
    model: str
    series: str
    first_year: int
    category: str


class FitmentBody(TypedDict):
    """`fixing` is null where it is built into the carrier, or where the carrier's maker does not say."""

    vehicle: str
    carrier: str
    fixing: str | None
    roofs: list[str] | None


class Subject(TypedDict):
    kind: str
    id: str


class Stated(TypedDict):
    value: str
    unit: str


class Scope(TypedDict, total=False):
    """A dimension left out is silent."""

    years: Years | Literal["all"]
    bodies: list[str] | Literal["all"]
    roofs: list[str] | Literal["all"]
    markets: list[str] | Literal["all"]


class Citation(TypedDict):
    """`document` is a document's key; `page` counts the file's pages from 1."""

    document: str
    page: str
    quote: str


class Row(TypedDict):
    """A line of an accessory page; `document` is its key, and `subject` the accessory where the registry knows it."""

    accessory: str
    mass: Stated
    load: Stated
    leaves_out: bool
    rating: Stated | None
    subject: Subject | None
    document: str
    page: str


class Derivation(TypedDict):
    """From what a figure is worked back; `takes` are keys of claims."""

    method: str
    rows: list[Row]
    takes: list[str]
    multiple: int | None


class ClaimBody(TypedDict):
    """What is worked back has a derivation, and its figure, basis and bound follow from that."""

    subject: Subject
    quantity: str
    condition: str | None
    stated: Stated | None
    derivation: Derivation | None
    per: str | None
    basis: str | None
    excluded_mass: Stated | None
    bound: str
    applies_to: str | None
    scope: Scope
    source_type: str
    citations: list[Citation]
    interest: str
    supersedes: str | None


class Reading(TypedDict, total=False):
    """The fields in which a reviewer's reading differs from the claim; in all others it agrees."""

    stated: Stated
    per: str
    condition: str
    basis: str
    excluded_mass: Stated
    bound: str
    applies_to: str
    scope: Scope


# What happens to a claim after it is entered, one step after another.
Approve: TypeAlias = tuple[Literal["read_and_approve"], str]
Misread: TypeAlias = tuple[Literal["misread"], str, Reading]
Reject: TypeAlias = tuple[Literal["reject"], str, str, str]
AskEvidence: TypeAlias = tuple[Literal["ask_evidence"], str, str]
AddEvidence: TypeAlias = tuple[Literal["add_evidence"], str, str, str]
Withdraw: TypeAlias = tuple[Literal["withdraw"]]
Dispute: TypeAlias = tuple[Literal["dispute"], str, str | None, str]
Settle: TypeAlias = tuple[Literal["uphold", "refute"], str, str | None, str]
Step: TypeAlias = Approve | Misread | Reject | AskEvidence | AddEvidence | Withdraw | Dispute | Settle
Story: TypeAlias = tuple[Step, ...]


@dataclass(frozen=True)
class Claim:
    """A claim's body, who enters it and on which day, and its story."""

    key: str
    by: str
    on: str
    body: ClaimBody
    story: Story = ()


Body = TypeVar("Body")


@dataclass(frozen=True)
class Confirmation:
    """A reviewer has checked a record against a document (its key)."""

    by: str
    document: str


@dataclass(frozen=True)
class Record(Generic[Body]):
    """A subject's record. `key` is the slug that it will be given; for a fitment, a local key."""

    key: str
    by: str
    body: Body
    confirmations: tuple[Confirmation, ...] = ()


@dataclass(frozen=True)
class Table:
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Caution:
    """A boxed warning: the word on its tab, and what it says."""

    word: str
    text: str


@dataclass(frozen=True)
class Steps:
    items: tuple[str, ...]


@dataclass(frozen=True)
class Drawing:
    """A line drawing: "wagon", "pickup", "van" or "bars", with its caption."""

    what: Literal["wagon", "pickup", "van", "bars"]
    caption: str


Block: TypeAlias = str | Table | Caution | Steps | Drawing


@dataclass(frozen=True)
class Page:
    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True)
class Document:
    """A published thing. `copies` names the document that it repeats nearly word for word, whether or not anybody has
    said so in the registry yet.

    Where `held` is false only the address is known, and nothing is behind it any more.
    """

    key: str
    publisher: str
    kind: str
    title: str
    edition: str
    published: str
    obtained: str
    language: str
    market: str | None
    pages: tuple[Page, ...]
    address: str | None = None
    held: bool = True
    copies: str | None = None


@dataclass(frozen=True)
class Judgement:
    """Somebody says, on a day, whether a document (its key) is copied from another."""

    document: str
    of: str
    by: str
    on: str
    copied: bool = True


@dataclass(frozen=True)
class Enquiry:
    """A question put to a publisher, on a day. `outcome` is one of the API's, or null while it is open; until then the
    answer is waited for to the day `closed`, or `answer_by`. `document` is the answer's key."""

    key: str
    by: str
    to: str
    subject: Subject
    quantity: str
    condition: str
    asked: str
    question: str
    outcome: str | None
    closed: str | None
    document: str | None
    note: str
    channel: str = "letter"
    language: str = "en"
    answer_by: str | None = None
    ask_again: str | None = None
