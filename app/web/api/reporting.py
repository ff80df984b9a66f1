"""Where to report a weakness (RFC 9116)."""

from datetime import timedelta
from typing import Final

from fastapi import APIRouter, Request
from starlette.responses import Response

from app.web.describing import gives_text
from app.web.edge import registry_of
from app.web.errors import problem

VALID_FOR: Final = timedelta(days=180)
"""Less than the year that RFC 9116 advises: whoever keeps a copy looks again."""

router = APIRouter(tags=["health"])


@router.get(
    "/.well-known/security.txt",
    summary="Where to report a weakness (RFC 9116)",
    responses=gives_text("Contact: mailto:safety@registry.example\nExpires: 2027-05-01T00:00:00Z\n", refuses=(404,)),
    response_class=Response,
)
def security_txt(request: Request) -> Response:
    """Whom to tell, as the settings have it."""
    registry = registry_of(request)
    contact = registry.settings.security_contact
    if not contact:
        return problem(404, "no_security_contact", "Whoever runs this registry has named nobody to report to.")
    expires = (registry.clock.now() + VALID_FOR).strftime("%Y-%m-%dT00:00:00Z")
    text = f"Contact: {contact}\nExpires: {expires}\nPreferred-Languages: en\n"
    return Response(text, headers={"Cache-Control": "max-age=86400"}, media_type="text/plain")
