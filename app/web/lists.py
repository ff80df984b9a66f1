"""What lists are asked. A filter that a list does not have is refused, as an unknown member of a body is: one that was
misspelt and passed over would look as if everything answered to it."""

from typing import Annotated, Final, Literal

from msgspec import Meta

from app.core.claim import Condition, SubjectKind
from app.core.enquiry import EnquiryState, Outcome
from app.core.letter_words import Language
from app.core.permissions import Role
from app.core.placement import PlacementState
from app.services.inputs import Day, Input, Name, Slug, Year

_MOST: Final = 2**53
"""Readers of JSON differ over whole numbers above this."""


class Paged(Input, frozen=True, kw_only=True):
    """A page of a list."""

    cursor: Annotated[str, Meta(max_length=100, description="`next` of the page before.")] | None = None
    limit: Annotated[int, Meta(ge=1, le=200)] = 50


class Find(Paged, frozen=True, kw_only=True):
    """Vehicles, carriers, fixings or gear."""

    q: Annotated[str, Meta(max_length=200, description="Words to find; typing errors are forgiven.")] | None = None
    maker: Slug | None = None
    year: Annotated[Year, Meta(description="Made in this model year.")] | None = None


class FindGear(Find, frozen=True, kw_only=True):
    """Gear, of one category too."""

    category: Name | None = None


class ListFitments(Paged, frozen=True, kw_only=True):
    """Fitments, of one vehicle or carrier."""

    vehicle: Slug | None = None
    carrier: Slug | None = None


class ListDocuments(Paged, frozen=True, kw_only=True):
    """Documents, of one publisher."""

    publisher: Slug | None = None


class Picture(Input, frozen=True, kw_only=True):
    """A picture of a page, as it is or smaller."""

    width: (
        Annotated[
            Literal["560", "720"],
            Meta(description="No wider than so many pixels, and in few colours: a sixth of the bytes."),
        ]
        | None
    ) = None


class ListAccounts(Paged, frozen=True, kw_only=True):
    """Accounts, of one role."""

    role: Role | None = None


class ListPlacements(Paged, frozen=True, kw_only=True):
    """Mergers, splits and their undoing, in one state, or of one subject."""

    state: PlacementState | None = None
    kind: SubjectKind | None = None
    subject: Annotated[Slug, Meta(description="A slug; with its kind.")] | None = None


class ListEnquiries(Paged, frozen=True, kw_only=True):
    """Enquiries about subjects of a kind or one of them, put to a publisher, open or closed, worth asking again."""

    subject_kind: SubjectKind | None = None
    subject: Annotated[str, Meta(max_length=80, description="A slug, or a fitment's id; with its kind.")] | None = None
    publisher: Annotated[Slug, Meta(description="Whom they were put to.")] | None = None
    state: EnquiryState | None = None
    outcome: Outcome | None = None
    ask_again_before: Annotated[Day, Meta(description="Worth asking again from a day before this one.")] | None = None


class AskLetter(Input, frozen=True, kw_only=True):
    """What a letter about a vehicle's roof is to be."""

    publisher: Annotated[Slug, Meta(description="To whom; the vehicle's maker if left out.")] | None = None
    condition: Annotated[list[Condition], Meta(max_length=3, description="Asked about; all if left out.")] | None = None
    language: Language = Language.EN
    format: Literal["json", "text"] = "json"


class ListChanges(Input, frozen=True, kw_only=True):
    """The entries since one."""

    after: (
        Annotated[int, Meta(ge=0, le=_MOST, description="The last entry that you have, or `next`.")]
        | Annotated[str, Meta(pattern=r"^[0-9]{1,15}\.[a-z0-9-]{1,80}$")]
    ) = 0
    limit: Annotated[int, Meta(ge=1, le=200)] = 50
