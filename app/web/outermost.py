"""The layers around the whole application, from the outermost in: the log, the headers, refusals as pages, the limits on
asking."""

from starlette.requests import Request
from starlette.types import ASGIApp, Scope

from app.bootstrap import Registry
from app.core.errors import CantrailError
from app.settings import rates
from app.web.edge import Bearer
from app.web.headers import Guarded
from app.web.limiting import Limited, Limiter
from app.web.logging_requests import Logged
from app.web.pages.rendering import asset, brought_along
from app.web.pages.troubled import Troubled


def outermost(app: ASGIApp, registry: Registry, *, prefix: str) -> ASGIApp:
    """An application with all that stands in front of it."""
    settings = registry.settings
    inner = app
    if settings.rate_limits:
        inner = Limited(
            app,
            Limiter(settings.rate_storage),
            anonymous=rates(settings.rate_anonymous),
            signed_in=rates(settings.rate_signed_in),
            prefix=prefix,
            identify=_identify,
            # Without them the page that says that too much was asked would come bare.
            uncounted=[asset(name) for name in brought_along()],
        )
    hosts = [host.strip() for host in settings.hosts.split(",") if host.strip()]
    guarded = Guarded(Troubled(inner, prefix=prefix), prefix=prefix, hosts=hosts)
    return Logged(guarded, prefix=prefix, addresses=settings.log_addresses, answers=settings.log_answers)


def _identify(scope: Scope) -> str | None:
    """Look up who shows a token or a session."""
    try:
        Bearer(Request(scope))
    except CantrailError:
        return None
    return str(scope["state"]["account"])
