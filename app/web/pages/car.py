"""The car that a visitor asks about: what the address says of it, and the addresses that say more or less of it."""

from decimal import Decimal
from typing import Any, Final, NamedTuple
from urllib.parse import urlencode

import msgspec
from starlette.requests import Request

from app.core.errors import CantrailError
from app.services.asked import VETTED_CONFIDENCE, Confidence, ContextIn
from app.services.inputs import Input
from app.web.bodies import query
from app.web.pages.writing import certainty, value

KNOWN: Final = ("year", "body", "roofs", "market", "min_confidence")
"""What an address says of a car, by the names that the API has for it. Whatever else stands in it is passed over."""


class _CarIn(Input, frozen=True, kw_only=True):
    context: ContextIn = ContextIn()
    min_confidence: Confidence = VETTED_CONFIDENCE


class Said(NamedTuple):
    """One thing that was said of the car, and the address at which it is not said."""

    text: str
    back: str


class Car:
    """What is said of one car of a vehicle, and how certain an answer has to be."""

    def __init__(
        self, vehicle: str, context: ContextIn = ContextIn(), min_confidence: Decimal = VETTED_CONFIDENCE
    ) -> None:
        self.vehicle = vehicle
        self.context = context
        self.min_confidence = min_confidence

    @property
    def pairs(self) -> list[tuple[str, str]]:
        """What is said, as it stands in an address."""
        context = self.context
        said = [
            ("year", context.year),
            ("body", context.body),
            *(("roofs", roof) for roof in context.roofs or ()),
            ("market", context.market),
            ("min_confidence", None if self.is_vetted else self.min_confidence),
        ]
        return [(name, str(each)) for name, each in said if each is not None]

    @property
    def is_vetted(self) -> bool:
        """Whether no more and no less is asked for than what is vetted."""
        return self.min_confidence == VETTED_CONFIDENCE

    def at(self, path: str, *more: tuple[str, str]) -> str:
        """An address that carries all that is said."""
        pairs = [*self.pairs, *more]
        return path + (f"?{urlencode(pairs)}" if pairs else "")

    @property
    def here(self) -> str:
        """The vehicle's page for this car."""
        return self.at(f"/vehicles/{self.vehicle}")

    @property
    def plan(self) -> str:
        """Where a load is planned on this car."""
        return self.planned_on()

    def planned_on(self, *more: tuple[str, str]) -> str:
        """Where a load is planned on this car, with more chosen already."""
        return f"/plan?{urlencode([('vehicle', self.vehicle), *self.pairs, *more])}"

    def but(self, **said: Any) -> "Car":
        """The same car with something else said of it."""
        return Car(self.vehicle, msgspec.structs.replace(self.context, **said), self.min_confidence)

    @property
    def said(self) -> list[Said]:
        """What is said, each with the way to take it back."""
        context = self.context
        found = []
        if context.year is not None:
            found.append(Said(f"model year {context.year}", self.but(year=None).here))
        if context.body is not None:
            found.append(Said(value(context.body, "bodies"), self.but(body=None).here))
        if context.roofs is not None:
            found.append(Said(value(list(context.roofs), "roofs"), self.but(roofs=None).here))
        if context.market is not None:
            found.append(Said(f"sold in {context.market}", self.but(market=None).here))
        if not self.is_vetted:
            sure = f"confidence {certainty(float(self.min_confidence))} is enough"
            found.append(Said(sure, Car(self.vehicle, context).here))
        return found


def car_asked(request: Request, vehicle: str) -> Car:
    """The car that an address says. Raises bad input."""
    pairs = [(name, text.strip()) for name, text in request.query_params.multi_items() if name in KNOWN]
    found = query(urlencode(pairs).encode(), _CarIn)
    return Car(vehicle, found.context, found.min_confidence)


def car_or_fault(request: Request, vehicle: str) -> tuple[Car, CantrailError | None]:
    """The car that an address says; where it says what cannot be, a car of which nothing is said, and why."""
    try:
        return car_asked(request, vehicle), None
    except CantrailError as error:
        return Car(vehicle), error
