"""Accounts, as whoever runs the registry has them."""

import sys
from getpass import getpass
from typing import Annotated

import typer

from app.cli.opening import USAGE, opened
from app.core.permissions import Role

accounts = typer.Typer(help="Add, disable and change accounts.", no_args_is_help=True, rich_markup_mode=None)

Name = Annotated[str, typer.Argument(metavar="NAME", help="The account's name.")]
WithPassword = Annotated[
    bool, typer.Option("--password", help="Ask for a password to sign in with; without a terminal, read a line.")
]


@accounts.command(epilog="Example: cantrail account add oxbow --role reviewer --password")
def add(
    name: Name,
    role: Annotated[Role, typer.Option(help="What it is trusted with.")] = Role.CONTRIBUTOR,
    password: WithPassword = False,
) -> None:
    """Add an account."""
    from app.services import accounts as service
    from app.services.passwords import refuse_weak
    from app.services.signing_in import chosen_name, words_of

    chosen = chosen_name(name)
    secret = _asked() if password else None
    if secret is not None:
        refuse_weak(secret, words_of(chosen))
    with opened() as registry:
        with registry.database.write() as session:
            added = service.let_in(session, name=chosen, role=role, now=registry.clock.now())
        if secret is not None:
            registry.signing_in.set_password(chosen, secret)
    print(f"{added.name} is a {added.role}, in the ledger as {added.id}.")
    if secret is None:
        print(f"For a token: cantrail token issue {added.name}")


@accounts.command(epilog="Example: cantrail account password oxbow")
def password(name: Name) -> None:
    """Set an account's password. Its sessions end."""
    secret = _asked()
    with opened() as registry:
        registry.signing_in.set_password(name, secret)
    print(f"{name} has a new password. Every session of theirs has ended.")


@accounts.command("reset-code", epilog="Example: cantrail account reset-code oxbow")
def reset_code(
    name: Name,
    one_time_password: Annotated[
        bool, typer.Option("--one-time-password", help="End one-time passwords too: the authenticator is lost.")
    ] = False,
) -> None:
    """Make a code for a new password, good for a day and once."""
    from app.services import accounts as service

    with opened() as registry, registry.database.write() as session:
        made = service.reset(session, name=name, one_time_password=one_time_password, now=registry.clock.now())
    print(
        f"{made.code}\n\nTell it {name} now: it is not shown again, and good until {made.expires_at:%Y-%m-%d %H:%M} UTC."
    )


@accounts.command("list", epilog="Example: cantrail account list")
def list_() -> None:
    """List accounts by name."""
    from app.services import accounts as service

    with opened() as registry, registry.database.read() as session:
        everybody = service.everybody(session)
    for each in everybody:
        print(f"{each.id}  {each.role:<11}  {'disabled' if each.disabled else 'active':<8}  {each.name}")


@accounts.command(epilog="Example: cantrail account disable oxbow")
def disable(name: Name) -> None:
    """Disable an account and kill its tokens and sessions."""
    from app.services import accounts as service

    with opened() as registry, registry.database.write() as session:
        service.disable(session, name=name, now=registry.clock.now())
    print(f"{name} is disabled. What it entered stays.")


@accounts.command(epilog="Example: cantrail account enable oxbow")
def enable(name: Name) -> None:
    """Enable a disabled account again. Its tokens stay revoked."""
    from app.services import accounts as service

    with opened() as registry, registry.database.write() as session:
        service.enable(session, name=name, now=registry.clock.now())
    print(f"{name} may act again.")


@accounts.command(epilog="Example: cantrail account forget oxbow")
def forget(name: Name) -> None:
    """Forget who is behind an account: its name goes, and nobody can sign in to it. What it entered stays."""
    from app.services import accounts as service

    with opened() as registry, registry.database.write() as session:
        forgotten = service.forget(session, name=name, now=registry.clock.now())
    print(f"The name is forgotten. In the ledger the account goes on as {forgotten.id}.")


@accounts.command(epilog="Example: cantrail account role oxbow reviewer")
def role(name: Name, role: Annotated[Role, typer.Argument(help="The new role.")]) -> None:
    """Give an account another role. Its sessions end."""
    from app.services import accounts as service

    with opened() as registry, registry.database.write() as session:
        service.set_role(session, name=name, role=role, now=registry.clock.now())
    print(f"{name} is a {role} now.")


def _asked() -> str:
    """A password, typed twice without being shown; or a line of what is piped in."""
    if not sys.stdin.isatty():
        return sys.stdin.readline().removesuffix("\n").removesuffix("\r")
    typed = getpass("Password: ")
    if getpass("Once more: ") != typed:
        print("cantrail: The two differ. Nothing was changed.", file=sys.stderr)
        raise typer.Exit(USAGE)
    return typed
