"""Read a worked case (the vectors' format) into the core's own words, and ask the core."""

from typing import Any, Literal

import msgspec

from app.core.asking import BudgetAnswer, Request, ask
from app.core.budget import Item
from app.core.claim import AppliesTo, Basis, Bound, Condition, Quantity, Statement, Subject, SubjectKind
from app.core.conditions import Figures
from app.core.dossier import Record
from app.core.entries import CarrierAdded, FixingAdded, VehicleAdded
from app.core.given import GivenPart, GivenRoof
from app.core.lifecycle import State
from app.core.mass import Counts, Per, Stated, Unit, ceil, parse_mass
from app.core.scope import Context, Scope, Years
from app.core.scoring import Dossier, FitmentFigures, Standing, candidate, figures

Case = dict[str, Any]

CONFIRMED = ("first", "second")


def scope_of(raw: Case | None) -> Scope:
    raw = raw or {}
    years = raw.get("years")

    def names(dimension: str) -> Any:
        value = raw.get(dimension)
        return tuple(value) if isinstance(value, list) else value

    return Scope(
        years=Years(years["from"], years["to"]) if isinstance(years, dict) else years,
        bodies=names("bodies"),
        roofs=names("roofs"),
        markets=names("markets"),
    )


def statement_of(raw: Case) -> Statement:
    return Statement(
        quantity=Quantity(raw["quantity"]),
        stated=msgspec.convert(raw["stated"], Stated),
        condition=Condition(raw["condition"]) if raw.get("condition") else None,
        per=Per(raw["per"]) if raw.get("per") else None,
        basis=Basis(raw["basis"]) if raw.get("basis") else None,
        excluded_mass=msgspec.convert(raw["excluded_mass"], Stated) if raw.get("excluded_mass") else None,
        bound=Bound(raw.get("bound", "exact")),
        applies_to=AppliesTo(raw["applies_to"]) if raw.get("applies_to") else None,
        scope=scope_of(raw.get("scope")),
    )


def figures_of(claims: list[Case], kind: SubjectKind, counts: Counts | None = None) -> Figures:
    found = []
    for place, raw in enumerate(claims):
        statement = statement_of(raw)
        standing = Standing(
            claim=str(raw.get("id", f"C{place}")),
            publisher=raw["publisher"],
            state=State(raw["state"]),
            approvals=raw["approvals"],
            confidence=raw["confidence"],
            undisputed=raw.get("undisputed", 0.0),
            fresh=raw.get("fresh", 0.0),
        )
        found.append((statement, candidate(statement, standing, kind, counts or Counts())))
    return figures(found)


def confirmed_by(record: Case) -> tuple[str, ...]:
    return CONFIRMED if record.get("confirmed") else ()


def names_of(record: Case, key: str) -> tuple[str, ...] | None:
    return tuple(record[key]) if record.get(key) else None


def vehicle_of(case: Case, fitments: tuple[FitmentFigures, ...]) -> Dossier:
    record = case["vehicle"]["record"]
    years = record.get("years") or [1900, None]
    payload = VehicleAdded(
        slug="vehicle",
        maker="maker",
        model="model",
        series=None,
        years=Years(years[0], years[1]),
        bodies=names_of(record, "bodies"),
        roofs=names_of(record, "roofs"),
        markets=names_of(record, "markets"),
        distinct_from=(),
    )
    subject = Subject(SubjectKind.VEHICLE, "vehicle")
    claims = figures_of(case["vehicle"]["claims"], SubjectKind.VEHICLE)
    return Dossier(Record(subject, 1, "author", payload, confirmed_by(record)), claims, fitments)


def kilograms(value: str | None) -> Stated | None:
    return None if value is None else Stated(value, Unit.KG)


def given_of(raw: Case) -> GivenPart:
    return GivenPart(
        own_mass=kilograms(raw.get("own_mass")),
        load_rating=kilograms(raw.get("load_rating")),
        rating_basis=Basis(raw.get("rating_basis") or "not_stated"),
        off_road_factor=raw.get("off_road_factor"),
        factor_applies_to=AppliesTo(raw["factor_applies_to"]) if raw.get("factor_applies_to") else None,
    )


def record_and_claims(raw: Any) -> tuple[Case, list[Case]]:
    if isinstance(raw, list):
        return {}, raw
    return raw.get("record") or {}, raw["claims"]


def counts_of(record: Case) -> Counts:
    return Counts(record.get("bars"), record.get("feet")) if record.get("confirmed") else Counts()


def carrier_of(raw: Any, place: int, *, built_in: bool) -> Dossier | GivenPart:
    if isinstance(raw, dict) and "given" in raw:
        return given_of(raw["given"])
    record, claims = record_and_claims(raw)
    payload = CarrierAdded(
        slug=f"carrier-{place}",
        maker="maker",
        model="model",
        series=None,
        kind="platform",
        first_year=None,
        bars=record.get("bars"),
        fixing="built_in" if built_in else record.get("fixing"),
        distinct_from=(),
    )
    subject = Subject(SubjectKind.CARRIER, payload.slug)
    confirmed = CONFIRMED if built_in else confirmed_by(record)
    found = figures_of(claims, SubjectKind.CARRIER, counts_of(record))
    return Dossier(Record(subject, 1, "author", payload, confirmed), found)


def fixing_of(raw: Any) -> Dossier | GivenPart | None:
    if raw is None:
        return None
    if isinstance(raw, dict) and "given" in raw:
        return given_of(raw["given"])
    record, claims = record_and_claims(raw)
    payload = FixingAdded("fixing", "maker", "model", None, None, record.get("feet"), (), ())
    subject = Subject(SubjectKind.FIXING, "fixing")
    found = figures_of(claims, SubjectKind.FIXING, counts_of(record))
    return Dossier(Record(subject, 1, "author", payload, confirmed_by(record)), found)


def fitments_of(case: Case) -> tuple[FitmentFigures, ...]:
    found = []
    for place, raw in enumerate(case.get("fitments") or []):
        record, _ = record_and_claims(case["carriers"][raw["carrier"]])
        claims = figures_of(raw["claims"], SubjectKind.FITMENT, counts_of(record))
        found.append(FitmentFigures(f"F{place}", f"carrier-{raw['carrier']}", None, None, claims))
    return tuple(found)


def items_of(case: Case) -> tuple[Item, ...]:
    if "cargo_g" in case:
        cargo = case["cargo_g"]
        return (Item("cargo", cargo["least"], cargo["cargo"], cargo["worst"]),)
    return tuple(item_of(raw) for raw in case["gear"])


def item_of(raw: Case) -> Item:
    quantity = raw.get("quantity") or 1
    if raw.get("mass") is not None:
        mass = ceil(parse_mass(Stated(str(raw["mass"]), Unit.KG)), quantity)
        spread = ceil(parse_mass(Stated(str(raw["tolerance"]), Unit.KG)), quantity) if raw.get("tolerance") else 0
        return Item("thing", mass, mass, mass + spread)
    if raw.get("range"):
        low, high = (ceil(parse_mass(Stated(str(end), Unit.KG)), quantity) for end in raw["range"])
        return Item("thing", low, high, high)
    return Item("thing", None, None, None)


def context_of(raw: Case) -> Context:
    roofs = raw.get("roofs")
    return Context(raw.get("year"), raw.get("body"), tuple(roofs) if roofs else None, raw.get("market"))


def request_of(case: Case) -> Request:
    fixing: Dossier | GivenPart | Literal["built_in"] | None = fixing_of(case["fixing"])
    built_in = case["fixing_said"] and fixing is None
    given = case.get("given_roof")
    return Request(
        condition=Condition(case["condition"]),
        demand=case["min_confidence"],
        vehicle=vehicle_of(case, fitments_of(case)) if case["vehicle"] is not None else None,
        context=context_of(case["context"]),
        fixing=fixing,
        carriers=tuple(
            carrier_of(raw, place, built_in=built_in and place == 0) for place, raw in enumerate(case["carriers"])
        ),
        items=items_of(case),
        people=tuple(item_of(raw) for raw in case.get("people") or ()),
        given_roof=GivenRoof(
            Stated(given["limit"], Unit.KG), Basis(given["basis"]), kilograms(given.get("excluded_mass"))
        )
        if given
        else None,
    )


def answer(case: Case) -> BudgetAnswer:
    return ask(request_of(case))
