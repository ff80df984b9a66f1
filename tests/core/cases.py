"""Read a worked case (the vectors' format) into the core's own words."""

from typing import Any

import msgspec

from app.core.budget import Budget, Fitted, Load, Part, Setup, load_of, work_out
from app.core.claim import AppliesTo, Basis, Bound, Condition, Quantity, Statement, SubjectKind
from app.core.conditions import (
    ON_ROOF,
    Figures,
    Ruling,
    lowest,
    rulings,
    ruling_for,
)
from app.core.given import GivenPart, GivenRoof, as_given
from app.core.lifecycle import State
from app.core.mass import Counts, Per, Stated, Unit
from app.core.scope import Context, Range, Scope, Years, completions
from app.core.scoring import Standing, candidate, figures
from app.core.selection import VETTED, Factor, factor_for, mass_at

Case = dict[str, Any]


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
        )
        found.append((statement, candidate(statement, standing, kind, counts or Counts())))
    return figures(found)


def context_of(raw: Case) -> Context:
    roofs = raw.get("roofs")
    return Context(raw.get("year"), raw.get("body"), tuple(roofs) if roofs else None, raw.get("market"))


def range_of(record: Case) -> Range:
    if not record.get("confirmed"):
        return Range()
    years = record.get("years")
    names = {key: tuple(record[key]) if record.get(key) else None for key in ("bodies", "roofs", "markets")}
    return Range(years=Years(years[0], years[1]) if years else None, **names)


def counts_of(record: Case) -> Counts:
    return Counts(record.get("bars"), record.get("feet")) if record.get("confirmed") else Counts()


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


def part_of(raw: Any, kind: SubjectKind, place: str, condition: Condition, demand: float) -> tuple[Part, Figures]:
    if isinstance(raw, dict) and "given" in raw:
        given = given_of(raw["given"])
        ruling = as_given(ruling_for(given.figures(), None, condition, demand, is_roof=False))
        return Part(place, given.mass, ruling, given.roof_factor, given=True), given.figures()
    claims, record = (raw, {}) if isinstance(raw, list) else (raw["claims"], raw.get("record") or {})
    found = figures_of(claims, kind, counts_of(record))
    ruling = ruling_for(found, None, condition, demand, is_roof=False)
    factor = factor_for(found.factors_on(ON_ROOF), None, VETTED)
    return Part(place, mass_at(found.masses, demand).mass, ruling, factor), found


def setup_of(case: Case) -> Setup:
    condition, demand = Condition(case["condition"]), case["min_confidence"]
    context = context_of(case["context"])
    fixing, _ = (
        part_of(case["fixing"], SubjectKind.FIXING, "fixing", condition, demand) if case["fixing"] else (None, None)
    )
    parts = [
        part_of(raw, SubjectKind.CARRIER, f"carrier{place}", condition, demand)
        for place, raw in enumerate(case["carriers"])
    ]
    roof: Ruling | None = None
    if case["vehicle"] is not None:
        vehicle = figures_of(case["vehicle"]["claims"], SubjectKind.VEHICLE)
        allowed = range_of(case["vehicle"]["record"])
        ways = rulings(vehicle, context, allowed, condition, demand, is_roof=True)
        roof = lowest([way.ruling for way in ways])
    given = None
    if case.get("given_roof"):
        raw = case["given_roof"]
        own = GivenRoof(Stated(raw["limit"], Unit.KG), Basis(raw["basis"]), kilograms(raw.get("excluded_mass")))
        given = as_given(ruling_for(own.figures(), None, condition, demand, is_roof=True))
    cargo = case["cargo_g"]
    return Setup(
        condition=condition,
        vehicle="vehicle",
        roof=roof,
        given_roof=given,
        fixing=fixing,
        carriers=tuple(part for part, _ in parts),
        fitments=(),
        load=Load(cargo["least"], cargo["cargo"], cargo["worst"]),
        fixing_said=case["fixing_said"],
    )


def answer(case: Case) -> Budget:
    return work_out(setup_of(case))
