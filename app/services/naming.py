"""Slugs made once from names, and near-duplicates caught before they split the registry's knowledge in two."""

import re
import unicodedata
from collections.abc import Callable, Iterable

import msgspec
from rapidfuzz import fuzz

from app.core.errors import CantrailError, Kind, invalid

RESEMBLES_AT = 85
LONGEST_SLUG = 72


class Named(msgspec.Struct, frozen=True):
    """Something already in the registry: its id, and what it is called."""

    id: str
    name: str


def slug(*parts: str | int | None) -> str:
    """A readable id: plain letters, digits and hyphens."""
    text = " ".join(str(part) for part in parts if part is not None)
    plain = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode().lower()
    made = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:LONGEST_SLUG].strip("-")
    if not made:
        raise invalid(
            "/model",
            "name_unreadable",
            "This name has no letter from a to z and no digit, so no id can be made from it. Write it in Latin letters.",
        )
    return made


def free(wanted: str, taken: Callable[[str], bool]) -> str:
    """A slug that nothing has yet."""
    made, number = wanted, 2
    while taken(made):
        made = f"{wanted}-{number}"
        number += 1
    return made


def refuse_near_duplicates(name: str, known: Iterable[Named], distinct_from: Iterable[str]) -> None:
    """Raises a conflict that names what a new thing resembles, unless the sender says that it is distinct from those."""
    said = set(distinct_from)
    resembling = sorted(
        ((fuzz.token_sort_ratio(name.lower(), other.name.lower()), other) for other in known if other.id not in said),
        key=lambda found: (-found[0], found[1].id),
    )
    near = [other for score, other in resembling if score >= RESEMBLES_AT][:10]
    if near:
        raise CantrailError(
            Kind.CONFLICT,
            "near_duplicate",
            f"This resembles {', '.join(other.id for other in near)}. If it is one of them, use that one; if it is "
            "not, send it again with their ids in distinct_from.",
            details={"resembles": [{"id": other.id, "name": other.name} for other in near]},
        )
