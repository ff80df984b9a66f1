"""What lists are asked. A filter that a list does not have is refused, as an unknown member of a body is: one that was
misspelt and passed over would look as if everything answered to it."""

from typing import Annotated, Final

from msgspec import Meta

from app.services.inputs import Input, Name, Slug, Year

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


class ListChanges(Input, frozen=True, kw_only=True):
    """The entries since one."""

    after: Annotated[int, Meta(ge=0, le=_MOST, description="The last entry that you have.")] = 0
    limit: Annotated[int, Meta(ge=1, le=200)] = 50
