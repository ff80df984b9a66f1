"""Accounts and tokens, from the command line only."""

from datetime import timedelta
from typing import Annotated, Final

import typer

from app.cli.opening import opened
from app.core.permissions import MAY, Role, Scope

accounts = typer.Typer(help="Add, disable and change accounts.", no_args_is_help=True, rich_markup_mode=None)
tokens = typer.Typer(help="Issue and revoke tokens.", no_args_is_help=True, rich_markup_mode=None)

LONGEST_DAYS: Final = 3660

Name = Annotated[str, typer.Argument(metavar="NAME", help="The account's name.")]


@accounts.command(epilog="Example: cantrail account add oxbow --role reviewer")
def add(name: Name, role: Annotated[Role, typer.Option(help="What it is trusted with.")] = Role.CONTRIBUTOR) -> None:
    """Add an account."""
    from app.services import accounts as service

    with opened() as registry, registry.database.write() as session:
        added = service.add(session, name=name, role=role, now=registry.clock.now())
    print(f"{added.name} is a {added.role}, in the ledger as {added.id}.")
    print(f"For a token: cantrail token issue {added.name}")


@accounts.command(epilog="Example: cantrail account disable oxbow")
def disable(name: Name) -> None:
    """Disable an account and kill its tokens."""
    from app.services import accounts as service

    with opened() as registry, registry.database.write() as session:
        service.disable(session, name=name, now=registry.clock.now())
    print(f"{name} is disabled. What it entered stays.")


@accounts.command(epilog="Example: cantrail account role oxbow reviewer")
def role(name: Name, role: Annotated[Role, typer.Argument(help="The new role.")]) -> None:
    """Give an account another role."""
    from app.services import accounts as service

    with opened() as registry, registry.database.write() as session:
        service.set_role(session, name=name, role=role)
    print(f"{name} is a {role} now.")


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
