"""The answering routes: limits, other figures and budgets."""

from typing import Final

from fastapi import APIRouter

from app.core.claim import SubjectKind
from app.services.answering import Budgets
from app.services.asked import BudgetIn, BudgetsIn, LimitIn, OptionsIn
from app.services.views.answers import FactorsView, LimitView, MassView
from app.services.views.budgets import BudgetView
from app.services.views.options import OptionsView
from app.web.answering import FIGURES, BareRoute, budget, budgets, figure_of, options
from app.web.describing import ASKS, gives, takes, takes_query

router = APIRouter(route_class=BareRoute, tags=["answers"])

_SUMMARIES: Final = {
    SubjectKind.VEHICLE: "A vehicle's roof limit, or its off-road factor, or a refusal",
    SubjectKind.CARRIER: "A carrier's rating, own mass or off-road factor, or a refusal",
    SubjectKind.FIXING: "A fixing's rating, own mass or off-road factor, or a refusal",
    SubjectKind.GEAR: "A gear item's own mass, or a refusal",
    SubjectKind.FITMENT: "The rating of a carrier on a vehicle, or a refusal",
}

router.add_api_route(
    "/budget",
    budget,
    methods=["POST"],
    summary="What may still go up, what stops it, and why",
    responses=gives(BudgetView, refuses=ASKS, says="The budget. A verdict of unknown is an answer too."),
    openapi_extra=takes(BudgetIn),
)
for _plural, (_last, _kind) in FIGURES.items():
    router.add_api_route(
        f"/{_plural}/{{id}}/{_last}",
        figure_of(_kind),
        methods=["GET"],
        summary=_SUMMARIES[_kind],
        name=f"{_kind}_figure",
        responses={
            **gives((LimitView, MassView, FactorsView), says="The figure, or a refusal to name one."),
            304: {"description": "What you have still holds (If-None-Match)."},
        },
        openapi_extra={
            "parameters": [
                {"name": "id", "in": "path", "required": True, "schema": {"type": "string"}},
                *takes_query(LimitIn)["parameters"],
            ]
        },
    )
router.add_api_route(
    "/budgets",
    budgets,
    methods=["POST"],
    summary="Up to a thousand budgets in one call",
    responses=gives(Budgets, refuses=ASKS, says="The budgets, in the order asked for."),
    openapi_extra=takes(BudgetsIn),
)
router.add_api_route(
    "/budget/options",
    options,
    methods=["POST"],
    summary="What else could be done with a load: other racks, other roads, and what to leave behind",
    responses=gives(OptionsView, refuses=ASKS, says="What each leaves, beside what was asked."),
    openapi_extra=takes(OptionsIn),
)
