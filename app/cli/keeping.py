"""Keep a registry: begin it, serve it, let time pass, make its tables again."""

import socket
import sys
from contextlib import ExitStack, suppress
from typing import TYPE_CHECKING, Annotated, Final

import typer

from app.cli.opening import FAILURE, opened, progress, settings
from app.cli.working import ended_gently, working_beside

if TYPE_CHECKING:
    from app.bootstrap import Registry

Host = Annotated[str, typer.Option(metavar="ADDRESS", help="The address to listen on.")]
Port = Annotated[int, typer.Option(min=1, max=65535, metavar="N", help="The port to listen on.")]

MOST_AT_ONCE: Final = 512
"""Connections and requests at once; one more is answered with 503."""

KEPT_OPEN_S: Final = 5
"""How long a connection on which nothing is asked is kept."""


def add_to(app: typer.Typer) -> None:
    """Add these commands."""
    app.command(epilog="Example: cantrail --data-dir /srv/cantrail init")(init)
    app.command(epilog="Example: cantrail serve --host 0.0.0.0 --port 8000")(serve)
    app.command(epilog="Example, for a crontab: 15 4 * * * cantrail daily")(daily)
    app.command(epilog="Example: cantrail rebuild")(rebuild)


def init() -> None:
    """Make a registry, or bring one up to date.

    It makes the folder, the key that signs the ledger's checkpoints, and the tables, and adopts the method. Doing it
    again does no harm.
    """
    from app.adapters.clock import SystemClock
    from app.bootstrap import checkpoints_of, prepare
    from app.services import rebuilding

    named = settings()
    with progress("Replaying the ledger") as told:
        database = prepare(named, told)
    with database.write() as session:
        begun = rebuilding.begin(session, now=SystemClock().now())
    key = checkpoints_of(named, database).key.verifier()
    database.dispose()
    print(f"The registry in {named.data_dir} is {'ready' if begun else 'up to date'}.")
    print(f"Others verify its ledger with this key: {key.text}")
    if named.origin not in {None, key.name}:
        print(f"The key keeps the name {key.name}: CANTRAIL_ORIGIN counts only when it is made.")
    if begun:
        print("Next: cantrail account add NAME --role reviewer, and cantrail serve")


def serve(
    host: Host = "127.0.0.1",
    port: Port = 8000,
    with_work: Annotated[
        bool, typer.Option("--with-work", help="Bring a worker along, in a process of its own: see `cantrail work`.")
    ] = False,
) -> None:
    """Serve the registry over HTTP, until Ctrl-C."""
    from app.bootstrap import open_registry

    named = settings()
    registry = open_registry(named)
    with ExitStack() as stack:
        stack.enter_context(ended_gently())
        listener = stack.enter_context(listening(host, port))
        print(f"Serving {named.data_dir} on {address(host, port)}. Ctrl-C stops it.", flush=True)
        if with_work:
            stack.enter_context(working_beside(named, told=True))
        else:
            print("Run `cantrail work` beside it: that reads the papers and fetches addresses.", flush=True)
        run_server(registry, listener)


def listening(host: str, port: int) -> socket.socket:
    """A socket that listens already, so that a port that is taken is told at once."""
    try:
        return socket.create_server((host, port), family=socket.AF_INET6 if ":" in host else socket.AF_INET)
    except OSError as error:
        why = f"{error.strerror or error}. Choose another with --port or --host."
        print(f"cantrail: Nothing can be served on {address(host, port)}: {why}", file=sys.stderr)
        raise typer.Exit(FAILURE) from error


def address(host: str, port: int) -> str:
    """Where a browser finds what is served."""
    return f"http://[{host}]:{port}" if ":" in host else f"http://{host}:{port}"


def run_server(registry: "Registry", listener: socket.socket) -> None:
    """Serve until stopped."""
    import uvicorn

    from app.adapters import log_lines
    from app.bootstrap import SERVED

    log_lines.set_up()
    # The application is loaded by its name, as any ASGI server would: the command line knows no web.
    SERVED.set(registry)
    config = uvicorn.Config(
        "app.web.main:served",
        factory=True,
        http="app.web.wire:PatientProtocol",
        ws="none",
        log_config=None,
        access_log=False,
        server_header=False,
        limit_concurrency=MOST_AT_ONCE,
        timeout_keep_alive=KEPT_OPEN_S,
    )
    try:
        with suppress(KeyboardInterrupt):
            uvicorn.Server(config).run(sockets=[listener])
    except SystemExit as stopped:
        # The server has told why it cannot start, and exits with 3: here that says that a roof is overloaded.
        raise typer.Exit(FAILURE) from stopped


def daily() -> None:
    """Enter what time has done; run it once a day.

    Claims age past their review-by date, disputes without evidence lapse after 14 days, and enquiries that nobody
    answered by their day are closed. Files that nothing speaks of are removed, and a checkpoint of the ledger is kept.
    """
    from app.services import daily as service
    from app.worker.daily_round import publish, tidy

    with opened() as registry:
        with progress("Looking at what is due") as told, registry.database.write() as session:
            work = service.system_work(session, registry.clock.now(), registry.store)
            done = service.run(work, progress=told)
        removed = tidy(registry)
        publish(registry)
    print(f"{done.aged} claims aged, {done.lapsed} disputes lapsed, {done.unanswered} enquiries unanswered.")
    if removed:
        print(f"{removed} unclaimed files removed.")


def rebuild() -> None:
    """Make the tables again from the ledger.

    Every table is emptied and the ledger replayed into it. Answers stay the same.
    """
    from app.services import rebuilding

    with opened() as registry, progress("Replaying the ledger") as told, registry.database.write() as session:
        entries = rebuilding.rebuild(session, progress=told)
    print(f"The tables are made again from {entries} entries.")
