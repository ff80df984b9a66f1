"""How figures, days and codes are written on a page."""

from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from typing import Any, Final

from app.core.mass import Unit, allowed_in
from app.core.scope import Years
from app.core.wording import day

MINUS: Final = "\N{MINUS SIGN}"
WEIGHED: Final = frozenset({"own_mass", "mass"})
"""The quantities that something weighs."""

WORDS: Final[Mapping[str, Mapping[str, str]]] = {
    "condition": {"on_road": "On sealed roads", "off_road": "Off road", "parked": "Parked"},
    "condition_in": {"on_road": "on sealed roads", "off_road": "off road", "parked": "parked"},
    "basis": {
        "includes_carrier": "rack included",
        "excludes_carrier": "rack not included",
        "includes_fixing": "fittings included",
        "excludes_fixing": "fittings not included",
        "not_stated": "does not say whether the rack counts",
    },
    "bound": {"exact": "", "at_least": "at least", "at_most": "at most"},
    "quantity": {
        "roof_limit": "roof limit",
        "load_rating": "load rating",
        "own_mass": "own mass",
        "off_road_factor": "off-road factor",
    },
    "dimension": {"years": "year", "bodies": "body", "roofs": "roof", "markets": "market"},
    "body": {
        "hatch": "hatch",
        "sedan": "sedan",
        "wagon": "wagon",
        "van": "van",
        "single_cab": "single cab",
        "extra_cab": "extra cab",
        "dual_cab": "dual cab",
        "coupe": "coupe",
        "convertible": "convertible",
        "other": "another body",
    },
    "roof": {
        "bare": "bare roof",
        "gutter": "gutters",
        "fixed_points": "fixed points",
        "flush_rail": "flush rails",
        "raised_rail": "raised rails",
        "track": "tracks",
        "glass": "glass roof",
    },
    "state": {
        "submitted": "waits for reviewers",
        "needs_evidence": "needs evidence",
        "approved": "approved",
        "disputed": "disputed",
        "superseded": "superseded",
        "rejected": "rejected",
        "withdrawn": "withdrawn",
    },
    "source": {
        "manual_page": "page of the maker's own handbook",
        "maker_statement": "statement of the maker",
        "accessory_derived": "worked back from accessories",
        "unverified": "unverified word",
    },
    "decision": {"approve": "approved", "reject": "rejected", "ask_evidence": "asked for evidence"},
    "method": {
        "accessory_pages": "from pages about accessories",
        "net_to_gross": "a rack’s mass added to what may be on it",
        "factor": "a limit multiplied by a factor",
        "sister_vehicle": "the same body under another name",
        "parked_multiple": "a multiple of the on-road limit, as a guess",
    },
    "verdict": {"within": "WITHIN", "over": "OVER", "marginal": "TOO CLOSE", "unknown": "NOT KNOWN"},
    "role": {"contributor": "contributor", "reviewer": "reviewer", "steward": "steward"},
    "subject": {
        "vehicle": "vehicle",
        "carrier": "rack",
        "fixing": "fixing",
        "gear": "gear",
        "fitment": "what fits what",
    },
    "language": {"en": "English", "de": "Deutsch", "fr": "Français", "es": "Español"},
    "outcome": {
        "answered": "answered",
        "quoted_carrier_rating": "only a rack's rating was quoted",
        "did_not_know": "did not know",
        "declined": "declined to say",
        "not_rated": "not rated for roof loads",
        "no_answer": "no answer in time",
    },
    "channel": {
        "letter": "by letter",
        "email": "by email",
        "telephone": "by telephone",
        "form": "by a form on their site",
        "counter": "at the counter",
    },
    "document": {
        "handbook": "handbook",
        "maker_page": "page on the maker's own site",
        "letter": "letter",
        "catalogue": "catalogue",
        "accessory_page": "page about an accessory",
        "plate_photo": "photograph of a plate or sticker",
        "instruction_sheet": "instruction sheet",
        "other": "something else",
    },
    "publisher": {
        "vehicle_maker": "vehicle maker",
        "carrier_maker": "rack maker",
        "gear_maker": "maker of gear",
        "importer": "importer",
        "dealer": "dealer",
        "shop": "shop",
        "public_body": "public body",
        "person": "person",
        "forum": "forum",
    },
    "per": {"total": "in all", "bar": "for each bar", "pair": "for each pair of bars", "foot": "for each foot"},
    "seen": {
        "found": "the machine finds the figure on the page",
        "apart": "the machine finds the figure, but not near its words",
        "not_found": "the machine does not find the figure on the page",
        "no_text": "the machine cannot read the page",
    },
    "refusal": {
        "scope_unproven": "not proven for this car",
        "disputed": "disputed",
        "stale": "review overdue",
        "below_confidence": "not certain enough",
        "withdrawn": "claims taken back",
        "asked_no_answer": "asked, no answer",
        "no_claim": "not known",
    },
}
"""Codes as people read them. A code without words here is shown as it is, its lines as spaces."""


def number(value: float | None, *, sign: bool = False, places: int = 0) -> str:
    """A figure: at most three decimals, none that are zero but for as many places as are asked for, a real minus, and
    nothing rounded again."""
    if value is None:
        return ""
    whole, _, part = f"{abs(value):,.3f}".partition(".")
    part = part.rstrip("0").ljust(places, "0")
    shown = (f"{whole}.{part}" if part else whole).replace(",", "\N{NARROW NO-BREAK SPACE}")
    if value < 0:
        return f"{MINUS}{shown}"
    return f"+{shown}" if sign else shown


def allowed(value: float | None, *, sign: bool = False) -> str:
    """What is allowed, or left: tenths, and never more than there is. The working keeps every digit."""
    return "" if value is None else number(tenths(value), sign=sign)


def carried(value: float | None) -> str:
    """What is carried, or too much: tenths, and never less than there is."""
    return "" if value is None else number(-tenths(-value))


def mass(value: float | None, quantity: str) -> str:
    """A figure of some quantity, in tenths on its safe side: what a thing weighs goes up, what is allowed down."""
    return carried(value) if quantity in WEIGHED else allowed(value)


def tenths(value: float) -> float:
    """A figure cut to tenths, and never more than there is."""
    return round(value * 1000) // 100 / 10


def decimals(value: float) -> int:
    """How many decimals a figure has, of at most three."""
    return len(f"{value:.3f}".rstrip("0").partition(".")[2])


def grams(value: int | None, unit: Unit) -> str:
    """What is allowed, in grams, as a figure with its unit, rounded to the safe side."""
    return "" if value is None else f"{allowed(allowed_in(unit, value))} {unit}"


def points(value: float) -> str:
    """Points up or down, to one decimal or as many as they have."""
    shown = f"{abs(value):.2f}".rstrip("0")
    return f"{MINUS if value < 0 else '+'}{shown}{'0' if shown.endswith('.') else ''}"


def certainty(value: float | None) -> str:
    """A confidence, cut and never rounded up."""
    return "" if value is None else f"{int(value * 100 + 1e-9) / 100:.2f}"


def said(code: str | None, family: str) -> str:
    """A code in words."""
    if code is None:
        return ""
    return WORDS[family].get(str(code), str(code).replace("_", " "))


def on_day(at: str | datetime) -> str:
    """A time or a day as people write the day."""
    text = at.astimezone(UTC).isoformat() if isinstance(at, datetime) else at
    return day(text[:10])


def at_minute(at: str) -> str:
    """A time as people write it, in UTC, without its seconds."""
    return f"{on_day(at)}, {at[11:16]}"


def years(given: Years) -> str:
    """Model years, both ends included."""
    if given.last is None:
        return f"{given.first} on"
    return str(given.first) if given.first == given.last else f"{given.first} to {given.last}"


def value(given: Any, dimension: str) -> str:
    """A value of a dimension of scope, in words: a year, a body, a market, or the roofs of one car."""
    if isinstance(given, list | tuple):
        return " with ".join(said(str(each), "roof") for each in given) or said("bare", "roof")
    if isinstance(given, Years):
        return years(given)
    match dimension:
        case "bodies":
            return said(str(given), "body")
        case "roofs":
            return said(str(given), "roof")
        case _:
            return str(given)


def opening(text: str) -> str:
    """Words that begin a line: the first letter is a capital, the others are left alone."""
    return text[:1].upper() + text[1:]


FILTERS: Final[dict[str, Callable[..., str]]] = {
    "number": number,
    "allowed": allowed,
    "carried": carried,
    "mass": mass,
    "grams": grams,
    "points": points,
    "certainty": certainty,
    "said": said,
    "on_day": on_day,
    "at_minute": at_minute,
    "value": value,
    "opening": opening,
}
