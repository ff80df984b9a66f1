"""The answering routes: they wait for nothing but a look at the ledger's head, and send bytes made before.

The router documents them like any other. `AnswersFirst` stands in front of it and knows them by their paths alone:
going through the router takes longer than most answers do.
"""

from collections.abc import Awaitable, Callable
from typing import Any, Final

from fastapi.routing import APIRoute
from starlette.concurrency import run_in_threadpool
from starlette.requests import ClientDisconnect, Request
from starlette.responses import Response
from starlette.types import ASGIApp, Receive, Scope, Send

from app.core.claim import Subject, SubjectKind
from app.core.errors import CantrailError
from app.services.answering import Answered
from app.services.asked import BudgetIn, BudgetsIn, LimitIn, OptionsIn
from app.services.options import answered_options
from app.web.bodies import MANY_LIMIT, BodyDecoder, of_query, query
from app.web.edge import body_bytes, json_response, refuse_nul, refuse_other_than_json, registry_of
from app.web.errors import ProblemError, hung_up, problem, refused

Answering = Callable[[Request], Awaitable[Response]]

_BUDGET: Final = BodyDecoder(BudgetIn)
_BUDGETS: Final = BodyDecoder(BudgetsIn)
_OPTIONS: Final = BodyDecoder(OptionsIn)


class BareRoute(APIRoute):
    """A route whose endpoint takes the request and nothing else, so that nothing need be solved for it."""

    def get_route_handler(self) -> Callable[[Request], Any]:
        """The endpoint itself."""
        return self.endpoint


def figure_of(kind: SubjectKind) -> Answering:
    """The endpoint for one figure of the subjects of a kind."""

    async def figure(request: Request) -> Response:
        refuse_nul(request)
        registry = registry_of(request)
        subject = Subject(kind, request.path_params["id"])
        asked = query(request.scope["query_string"], LimitIn)
        answer = None
        try:
            # Only SQLite is looked at without waiting for another process.
            if registry.database.is_sqlite:
                answer = registry.answers.ready_limit(subject, asked)
            if answer is None:
                answer = await run_in_threadpool(registry.answers.limit, subject, asked)
        except CantrailError as error:
            raise of_query(error, LimitIn) from error
        return _sent(request, answer)

    return figure


async def budget(request: Request) -> Response:
    """One budget."""
    registry = registry_of(request)
    refuse_other_than_json(request)
    asked = _BUDGET.decode(await body_bytes(request))
    answer = None
    if registry.database.is_sqlite:
        answer = registry.answers.ready_budget(asked)
    if answer is None:
        answer = await run_in_threadpool(registry.answers.budget, asked)
    return _sent(request, answer)


async def budgets(request: Request) -> Response:
    """Many budgets."""
    registry = registry_of(request)
    refuse_other_than_json(request)
    raw = await body_bytes(request, MANY_LIMIT)
    return _sent(request, await run_in_threadpool(lambda: registry.answers.budgets(_BUDGETS.decode(raw))))


async def options(request: Request) -> Response:
    """What else could be done with a load."""
    registry = registry_of(request)
    refuse_other_than_json(request)
    raw = await body_bytes(request)
    return _sent(request, await run_in_threadpool(lambda: answered_options(registry.answers, _OPTIONS.decode(raw))))


def _sent(request: Request, answer: Answered) -> Response:
    """An answer, or that the one at hand still holds."""
    headers = {"ETag": answer.etag}
    if_none_match = request.headers.get("if-none-match")
    if if_none_match is not None and request.method == "GET" and _names(if_none_match, answer.etag):
        return Response(None, 304, {"Cache-Control": "no-cache", **headers})
    return json_response(answer.body, headers=headers)


def _names(if_none_match: str, etag: str) -> bool:
    """Whether a list of entity tags names one, weakly compared (RFC 9110, 13.1.2)."""
    return if_none_match.strip() == "*" or etag in {tag.strip().removeprefix("W/") for tag in if_none_match.split(",")}


FIGURES: Final[dict[str, tuple[str, SubjectKind]]] = {
    "vehicles": ("limit", SubjectKind.VEHICLE),
    "carriers": ("figure", SubjectKind.CARRIER),
    "fixings": ("figure", SubjectKind.FIXING),
    "gear": ("figure", SubjectKind.GEAR),
    "fitments": ("figure", SubjectKind.FITMENT),
}
"""Where figures are asked for: /{plural}/{id}/{last}."""

_ENDPOINTS: Final = {plural: (last, figure_of(kind)) for plural, (last, kind) in FIGURES.items()}


class AnswersFirst:
    """Answers the answering routes before anything else looks at the request."""

    def __init__(self, app: ASGIApp, prefix: str) -> None:
        self._app = app
        self._budget = f"{prefix}/budget"
        self._prefix = f"{prefix}/"
        # For the line that is logged of the request.
        self._templates = {plural: f"{prefix}/{plural}/{{id}}/{last}" for plural, (last, _) in FIGURES.items()}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer, or hand on."""
        endpoint = self._endpoint(scope) if scope["type"] == "http" else None
        if endpoint is None:
            await self._app(scope, receive, send)
            return
        state = scope.setdefault("state", {})
        try:
            response = await endpoint(Request(scope, receive))
        except CantrailError as error:
            state["code"] = error.code
            response = refused(error)
        except ProblemError as error:
            state["code"] = error.code
            response = problem(error.status, error.code, error.detail, headers=error.headers)
        except ClientDisconnect:
            response = hung_up()
        await response(scope, receive, send)

    def _endpoint(self, scope: Scope) -> Answering | None:
        path: str = scope["path"]
        if path == self._budget:
            if scope["method"] != "POST":
                return None
            scope.setdefault("state", {})["answered"] = path
            return budget
        if scope["method"] != "GET" or not path.startswith(self._prefix):
            return None
        plural, _, rest = path[len(self._prefix) :].partition("/")
        id, _, last = rest.partition("/")
        named, endpoint = _ENDPOINTS.get(plural, (None, None))
        if not id or last != named:
            return None
        scope["path_params"] = {"id": id}
        scope.setdefault("state", {})["answered"] = self._templates[plural]
        return endpoint
