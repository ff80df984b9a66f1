"""What people send: one type for each body, with the limits of every field. The interfaces decode into these."""

from typing import Annotated, Literal

import msgspec
from msgspec import Meta

from app.core.claim import AppliesTo, Basis, Bound, Condition, Interest, Quantity, SourceType, SubjectKind
from app.core.derived import Method
from app.core.enquiry import Channel, Outcome
from app.core.evidence import DocumentKind, PublisherKind
from app.core.mass import Per, Unit
from app.core.mismatch import Finding
from app.core.review import Decision, RejectionCode, Settlement
from app.core.scope import Body, Roof

Slug = Annotated[str, Meta(pattern="^[a-z0-9]+(-[a-z0-9]+)*$", max_length=80)]
Name = Annotated[str, Meta(min_length=1, max_length=80)]
ShortText = Annotated[str, Meta(min_length=1, max_length=200)]
LongText = Annotated[str, Meta(min_length=1, max_length=4000)]
Figure = Annotated[str, Meta(min_length=1, max_length=20)]
Market = Annotated[str, Meta(pattern="^[A-Z]{2}$")]
Year = Annotated[int, Meta(ge=1900, le=2100)]
Day = Annotated[str, Meta(pattern="^[0-9]{4}-[0-9]{2}-[0-9]{2}$")]
MassUnit = Literal["kg", "lb"]
Few = 50
Claims = Annotated[str, Meta(pattern="^C[0-9]{1,12}$")]
Documents = Annotated[str, Meta(pattern="^D[0-9]{1,12}$")]
Readings = Annotated[str, Meta(pattern="^R[0-9]{1,12}$")]
Bodies = Annotated[list[Body], Meta(min_length=1, max_length=Few)]
Roofs = Annotated[list[Roof], Meta(min_length=1, max_length=Few)]
Markets = Annotated[list[Market], Meta(min_length=1, max_length=300)]


class Input(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A body as sent. Unknown members are refused, so that a misspelt one is not silently nothing."""


class YearsIn(Input, frozen=True):
    """Model years, both included; `to` null: still made."""

    first: Year = msgspec.field(name="from")
    last: Year | None = msgspec.field(name="to", default=None)


# Publishers and subjects


class NewPublisher(Input, frozen=True):
    """A publisher of documents. An importer says whose it is."""

    name: Name
    kind: PublisherKind
    importer_of: Annotated[list[Slug], Meta(max_length=Few)] = []
    distinct_from: Annotated[list[Slug], Meta(max_length=Few)] = []


class NewVehicle(Input, frozen=True):
    """One maker's model in one generation. A dimension that is null is not said."""

    maker: Slug
    model: Name
    years: YearsIn
    series: Name | None = None
    bodies: Bodies | None = None
    roofs: Roofs | None = None
    markets: Markets | None = None
    distinct_from: Annotated[list[Slug], Meta(max_length=Few)] = []


class NewCarrier(Input, frozen=True):
    """What is bolted to a roof to put things on."""

    maker: Slug
    model: Name
    kind: Literal["crossbars", "platform", "basket", "tray"]
    series: Name | None = None
    first_year: Year | None = None
    bars: Annotated[int, Meta(ge=1, le=20)] | None = None
    fixing: Literal["built_in", "separate"] | None = None
    distinct_from: Annotated[list[Slug], Meta(max_length=Few)] = []


class NewFixing(Input, frozen=True):
    """What joins a carrier to a roof, and where it holds."""

    maker: Slug
    model: Name
    holds: Annotated[
        list[Literal["gutter", "fixed_points", "flush_rail", "raised_rail", "track", "drilled"]],
        Meta(min_length=1, max_length=6),
    ]
    series: Name | None = None
    first_year: Year | None = None
    feet: Annotated[int, Meta(ge=1, le=40)] | None = None
    distinct_from: Annotated[list[Slug], Meta(max_length=Few)] = []


class NewGear(Input, frozen=True):
    """Something carried, in a category of GET /gear/categories."""

    maker: Slug
    model: Name
    category: Name
    series: Name | None = None
    first_year: Year | None = None
    distinct_from: Annotated[list[Slug], Meta(max_length=Few)] = []


class NewFitment(Input, frozen=True):
    """This carrier goes on this vehicle, on these roofs, with this fixing; null: not said."""

    vehicle: Slug
    carrier: Slug
    fixing: Slug | None = None
    roofs: Roofs | None = None
    distinct_from: Annotated[list[Annotated[str, Meta(pattern="^F[0-9]{1,12}$")]], Meta(max_length=Few)] = []


class Confirmation(Input, frozen=True):
    """A reviewer has checked a record, against a document if one is named."""

    document: Documents | None = None


Address = Annotated[str, Meta(min_length=1, max_length=2000, pattern="^https?://")]


class NewDocument(Input, frozen=True):
    """What a document is. Its file is sent beside it; or `address` says where it is published, to be fetched and kept."""

    publisher: Slug
    kind: DocumentKind
    title: ShortText | None = None
    edition: ShortText | None = None
    published: Day | None = None
    obtained: Day | None = None
    language: Annotated[str, Meta(pattern="^[a-z]{2,3}$")] | None = None
    market: Market | None = None
    address: Address | None = None


class NewTakedown(Input, frozen=True):
    """Why a document's files are held no more."""

    code: Literal["rights", "privacy"]
    reason: LongText


class NewCopyJudgement(Input, frozen=True):
    """Whether a document is copied from another."""

    of: Documents
    copied: bool


# Claims


class SubjectIn(Input, frozen=True):
    """What a claim is about: a slug, or a fitment's id."""

    kind: SubjectKind
    id: Annotated[str, Meta(min_length=1, max_length=80)]


class StatedIn(Input, frozen=True):
    """A figure word for word: digits with a point for decimals, or a fraction for a factor."""

    value: Figure
    unit: Unit


class StatedMass(Input, frozen=True):
    """A mass word for word."""

    value: Figure
    unit: MassUnit


class ScopeIn(Input, frozen=True):
    """What the source speaks on: values, "all", or left out where it is silent."""

    years: YearsIn | Literal["all"] | None = None
    bodies: Bodies | Literal["all"] | None = None
    roofs: Roofs | Literal["all"] | None = None
    markets: Markets | Literal["all"] | None = None


class NewCitation(Input, frozen=True):
    """The place in a document on which a claim rests, and the words there."""

    document: Documents
    page: Annotated[str, Meta(min_length=1, max_length=20)] | None = None
    locator: ShortText | None = None
    quote: LongText | None = None


class RowIn(Input, frozen=True):
    """What one page says of one accessory on the vehicle: its own mass, the load that it may take there, whether the
    page says that this load leaves the accessory out, and its general rating. `subject` is the accessory itself, where
    the registry knows it."""

    accessory: Name
    mass: StatedMass
    load: StatedMass
    leaves_out: bool = False
    rating: StatedMass | None = None
    subject: SubjectIn | None = None
    document: Documents | None = None
    page: Annotated[str, Meta(min_length=1, max_length=20)] | None = None
    locator: ShortText | None = None


class DerivationIn(Input, frozen=True):
    """From what a figure is worked back: rows of accessory pages; or claims, in the order in which the method names
    them (net_to_gross: the limit and the carrier's own mass; factor: the on-road limit and the factor)."""

    method: Method
    rows: Annotated[list[RowIn], Meta(max_length=200)] = []
    takes: Annotated[list[Claims], Meta(max_length=2)] = []
    multiple: Annotated[int, Meta(ge=1, le=10)] | None = None


class NewDerivation(DerivationIn, frozen=True):
    """A figure to be worked back, shown with its working and not kept. With a vehicle and a condition it is held to
    what caps that vehicle's limit."""

    vehicle: Slug | None = None
    condition: Condition | None = None
    unit: MassUnit = "kg"


class Said(Input, frozen=True, kw_only=True):
    """What a claim states, or a reviewer reads. What is worked back has a derivation; its reading has one too, and no
    figure: that follows from its rows."""

    stated: StatedIn | None = None
    derivation: DerivationIn | None = None
    per: Per | None = None
    condition: Condition | None = None
    basis: Basis | None = None
    excluded_mass: StatedMass | None = None
    bound: Bound = Bound.EXACT
    applies_to: AppliesTo | None = None
    scope: ScopeIn = ScopeIn()


class NewReading(Said, frozen=True, kw_only=True):
    """A blind reading: what the reviewer reads from the evidence, before the claim is shown."""


class NewClaim(Said, frozen=True, kw_only=True):
    """One figure for one subject, with the evidence it rests on."""

    subject: SubjectIn
    quantity: Quantity
    source_type: SourceType
    citations: Annotated[list[NewCitation], Meta(max_length=20)] = []
    interest: Interest = Interest.NONE
    supersedes: Claims | None = None
    answers_rejection: Claims | None = None
    answer: LongText | None = None


class NewDecision(Input, frozen=True):
    """A reviewer's decision. To approve takes one's own blind reading; to reject takes a code."""

    decision: Decision
    reason: LongText
    reading: Readings | None = None
    code: RejectionCode | None = None
    interest: Interest = Interest.NONE
    confirms_record: bool = False


class NewMismatchJudgement(Input, frozen=True):
    """What a steward found of a reading that the claim goes beyond."""

    finding: Finding
    reason: LongText


class NewDispute(Input, frozen=True):
    """A challenge to an approved claim. With a held document it stops the claim from setting at once."""

    reason: LongText
    document: Documents | None = None
    page: Annotated[str, Meta(min_length=1, max_length=20)] | None = None
    interest: Interest = Interest.NONE


class NewSettlement(Input, frozen=True):
    """A fresh reviewer's vote on a dispute. To refute takes a code."""

    settlement: Settlement
    reason: LongText
    code: RejectionCode | None = None
    interest: Interest = Interest.NONE


# Enquiries


class NewEnquiry(Input, frozen=True, kw_only=True):
    """What was asked of a publisher. A limit is asked about in one condition or several; unless `answer_by` is given, an
    answer is waited for 28 days."""

    subject: SubjectIn
    asked: Slug
    quantity: Quantity
    conditions: Annotated[list[Condition], Meta(max_length=3)] = []
    channel: Channel
    questions: LongText
    asked_on: Day
    answer_by: Day | None = None
    language: Annotated[str, Meta(pattern="^[a-z]{2,3}$")] | None = None


class EnquiryOutcomeIn(Input, frozen=True):
    """What became of an enquiry. What was answered is filed as a document first, and named here."""

    outcome: Outcome
    document: Documents | None = None
    note: LongText | None = None
    answered_on: Day | None = None
    ask_again: Day | None = None
