"""Sentences for codes: cautions, notes and refusals, in plain words."""

from typing import Final

from app.core.conditions import OFF_ROAD_NOT_RECORDED, ON_ROAD_NOT_RECORDED, PARKED_FROM_DRIVING
from app.core.enquiry import Asked, Outcome
from app.core.refusal import Refusal, RefusalKind

CAUTIONS: Final = (
    "The vehicle's own handbook comes first, and local law.",
    "The lowest limit rules: vehicle, carrier, fixing, and what things are packed in.",
    "The roof's load also counts in the vehicle's payload and axle limits.",
    "Keep loads low, spread evenly and tied down; check fixings after the first kilometres and on rough roads.",
    "A loaded roof changes braking, cornering and the risk of roll-over.",
    "Fitting that needs drilling, or any doubt about a fixing, is for a licensed fitter or engineer.",
    "The registry reports what sources say; it certifies nothing.",
)

NOTES: Final[dict[str, str]] = {
    OFF_ROAD_NOT_RECORDED: "No off-road figure is recorded; the on-road one stands in. Rough roads ask for less.",
    ON_ROAD_NOT_RECORDED: "No on-road figure is recorded; the off-road one, which is safe, stands in.",
    PARKED_FROM_DRIVING: "No exact parked figure is recorded; at least what may be carried while driving may stand there.",
    "estimate_is_a_guess": "The parked estimate is a multiple of the on-road limit: common practice, no source.",
}

REFUSALS: Final[dict[RefusalKind, str]] = {
    RefusalKind.SCOPE_UNPROVEN: "A figure is known for other cars of this vehicle, but not proven for this one.",
    RefusalKind.DISPUTED: "A figure is claimed, but it is disputed and not settled.",
    RefusalKind.STALE: "A figure was vetted, but its review is overdue.",
    RefusalKind.BELOW_CONFIDENCE: "Claims exist, but none is certain enough to name a figure from.",
    RefusalKind.WITHDRAWN: "Only rejected, withdrawn or superseded claims exist.",
    RefusalKind.ASKED_NO_ANSWER: "Nobody has entered a claim for this figure, and asking brought none.",
    RefusalKind.NO_CLAIM: "Nobody has entered a claim for this figure.",
}

FIGURES: Final[dict[str, str]] = {
    "roof_limit": "roof limit",
    "load_rating": "load rating",
    "own_mass": "own mass",
    "mass": "mass",
}

OUTCOMES: Final[dict[Outcome, str]] = {
    Outcome.ANSWERED: "answered on",
    Outcome.QUOTED_CARRIER_RATING: "quoted only a carrier's rating, on",
    Outcome.DID_NOT_KNOW: "did not know, on",
    Outcome.DECLINED: "declined to say, on",
    Outcome.NOT_RATED: "not rated for roof loads, on",
    Outcome.NO_ANSWER: "no answer by",
}

MONTHS: Final = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)

QUOTED: Final = 3
"""A refusal quotes so many enquiries, the newest; it lists them all."""


def refusal_sentence(refused: Refusal) -> str:
    """Why a figure is not named, and whom it was asked of in vain."""
    told = [
        f"The {FIGURES[refused.figure]} of {refused.subject} is not named.",
        REFUSALS[refused.kind],
        *(asked_sentence(each) for each in refused.enquiries[:QUOTED]),
    ]
    return " ".join(told)


def asked_sentence(asked: Asked) -> str:
    """Whom somebody asked, when, and what became of it."""
    enquiry = asked.enquiry
    if enquiry.outcome is None or enquiry.closed_on is None:
        return f"Asked {asked.name} on {day(enquiry.asked_on)}: not answered yet."
    return f"Asked {asked.name} on {day(enquiry.asked_on)}: {OUTCOMES[enquiry.outcome]} {day(enquiry.closed_on)}."


def day(text: str) -> str:
    """A day as people write it: "2025-02-10" is 10 February 2025."""
    year, month, number = text.split("-")
    return f"{int(number)} {MONTHS[int(month) - 1]} {year}"
