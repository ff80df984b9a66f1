"""Tokens, as whoever runs the registry gives them out."""

from datetime import timedelta
from typing import Annotated, Final

import typer

from app.cli.accounts import Name
from app.cli.opening import opened
from app.core.permissions import MAY, Scope

tokens = typer.Typer(help="Issue and revoke tokens.", no_args_is_help=True, rich_markup_mode=None)

LONGEST_DAYS: Final = 3660


@tokens.command(epilog="Example: cantrail token issue oxbow --label laptop --scope submit --days 90")
def issue(
    name: Name,
    label: Annotated[str, typer.Option(metavar="TEXT", help="What the token is for.")] = "command line",
    scope: Annotated[
        list[Scope] | None,
        typer.Option(metavar="SCOPE", help="submit or review; repeat for both. Default: all that the role may."),
    ] = None,
    days: Annotated[
        int | None,
        typer.Option(min=1, max=LONGEST_DAYS, metavar="N", help="Days it is good for. Default: until revoked."),
    ] = None,
) -> None:
    """Issue a token. Its secret is shown this once."""
    from app.services import accounts as service

    with opened() as registry, registry.database.write() as session:
        now = registry.clock.now()
        scopes = set(scope) if scope else MAY[service.named(session, name).role]
        expires_at = None if days is None else now + timedelta(days=days)
        issued = service.issue_token(session, name=name, label=label, scopes=scopes, now=now, expires_at=expires_at)
    print(f"{issued.token}\n\nKeep it now: it is not shown again. To revoke it: cantrail token revoke {issued.id}")


@tokens.command(epilog="Example: cantrail token revoke k-0123456789abcdef")
def revoke(id: Annotated[str, typer.Argument(metavar="ID", help="The token's id, told when it was issued.")]) -> None:
    """Revoke a token."""
    from app.services import accounts as service

    with opened() as registry, registry.database.write() as session:
        service.revoke_token(session, id=id, now=registry.clock.now())
    print(f"{id} is revoked.")
