"""Try it out: a registry with an invented world of vehicles, racks, papers and people."""

import json
import shlex
import sys
import tempfile
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, Final

import typer

from app.cli.keeping import Host, Port, address, listening, run_server
from app.cli.opening import progress
from app.cli.working import ended_gently, working_beside

if TYPE_CHECKING:
    from app.settings import Settings

ACCOUNTS: Final = "accounts.json"
DATABASE: Final = ".sqlite3"
LOOPBACK: Final = "127.0.0.1"
"""Not every browser keeps a session that comes without TLS from this address; from `localhost` they do."""
SHOWN: Final = {"contributor": 1, "reviewer": 2}
"""Of whom a token is printed: enough to submit a claim and to decide on it."""


def add_to(app: typer.Typer) -> None:
    """Add this command."""
    app.command(epilog="Example: cantrail demo --keep demo-registry --port 8001")(demo)


def demo(
    keep: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Keep the registry in this folder, or serve the one in it.")
    ] = None,
    host: Host = LOOPBACK,
    port: Port = 8000,
    serve: Annotated[bool, typer.Option(help="Serve it, or only make it.")] = True,
    who: Annotated[
        str | None,
        typer.Option(metavar="NAME", help="Only say what somebody of the registry in --keep signs in with now."),
    ] = None,
) -> None:
    """Try it out with an invented world.

    Makes a registry of invented vehicles, racks, papers and people in about half a minute, and serves it until
    Ctrl-C. Without --keep it is thrown away then. A worker beside the server reads the papers meanwhile.
    """
    from app.bootstrap import open_registry

    if who is not None:
        _tell_of(who, keep)
        return
    with ExitStack() as stack:
        stack.enter_context(ended_gently())
        listener = stack.enter_context(listening(host, port)) if serve else None
        if keep is not None:
            folder, until = keep, "It stays there."
        elif serve:
            folder = Path(stack.enter_context(tempfile.TemporaryDirectory(prefix="cantrail-demo-")))
            until = "It is thrown away at the end."
        else:
            folder, until = Path(tempfile.mkdtemp(prefix="cantrail-demo-")), "It stays there until you delete it."
        settings = _made(folder)
        _tell(folder, until, address(host, port), served=serve)
        if listener is not None:
            stack.enter_context(working_beside(settings))
            run_server(open_registry(settings), listener)


def _made(folder: Path) -> "Settings":
    """The registry in a folder, as it is; where there is none, one with the whole scenario."""
    from app.bootstrap import is_there, prepare
    from app.settings import Settings

    settings = Settings(data_dir=folder, database_url=None)
    if is_there(settings):
        prepare(settings).dispose()
        return settings
    folder.mkdir(parents=True, exist_ok=True)
    # Made aside and moved in whole: one that was interrupted is not taken for one that is complete.
    with tempfile.TemporaryDirectory(prefix=".loading-", dir=folder) as aside:
        _load(Path(aside))
        for each in sorted(Path(aside).iterdir(), key=lambda each: each.suffix == DATABASE):
            each.rename(folder / each.name)
    return settings


def _load(folder: Path) -> None:
    from app.adapters.clock import SystemClock
    from app.adapters.evidence_store import FolderEvidenceStore
    from app.adapters.sealing import FileSealer
    from app.bootstrap import prepare
    from app.settings import Settings
    from seed_demo.load import load

    settings = Settings(data_dir=folder, database_url=None)
    database = prepare(settings)
    store = FolderEvidenceStore(settings.evidence_dir)
    with progress("Loading the demo scenario") as told:
        sealer = FileSealer(settings.sealing_key)
        people = list(load(database, store, now=SystemClock().now(), progress=told, sealer=sealer))
    database.dispose()
    accounts = folder / ACCOUNTS
    accounts.write_text(json.dumps(people, indent=2) + "\n", encoding="utf-8")
    accounts.chmod(0o600)


def _tell(folder: Path, until: str, at: str, *, served: bool) -> None:
    where = shlex.quote(str(folder))
    print(f"The demo registry is in {folder}. All in it is invented. {until}")
    if served:
        print(f"Open {at.replace(LOOPBACK, 'localhost')} in a browser: it is served until Ctrl-C.")
    else:
        print(f"To read its papers: cantrail --data-dir {where} work --once")
        print(f"To serve it: cantrail demo --keep {where}")
    print(f"""
Three things to try:

  curl -s '{at}/api/v1/vehicles?q=orin+tarn'

  curl -s {at}/api/v1/budget -H 'Content-Type: application/json' -d '
    {{"vehicle": "orrin-tarn-t2-2019", "condition": "on_road",
     "carriers": [{{"id": "pellwick-slatten-p1-2018"}}],
     "gear": [{{"name": "tent", "mass": 65}}]}}'

  cantrail --data-dir {where} budget --vehicle orrin-tarn-t2-2019 \\
      --condition off_road --carrier pellwick-slatten-rough-p2-2021 \\
      --gear awning=14
""")
    accounts = folder / ACCOUNTS
    if not accounts.exists():
        print(f"This registry has no {ACCOUNTS}; `cantrail token issue` makes tokens.", flush=True)
        return
    people = _people(folder)
    print("To submit and decide, sign in on its pages, or send a token as `Authorization: Bearer TOKEN`:\n")
    print(f"  {'role':<12} {'name':<15} {'password':<22} token")
    for role, count in SHOWN.items():
        for each in [each for each in people if each["role"] == role][:count]:
            print(f"  {each['role']:<12} {each['name']:<15} {each['password']:<22} {each['token']}")
    print(f"""
Who reviews also needs a one-time password, good for half a minute. For one of now:

  cantrail demo --keep {where} --who quillon

Everybody's are in {accounts}.""")
    sys.stdout.flush()


def _people(folder: Path) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = json.loads((folder / ACCOUNTS).read_text(encoding="utf-8"))
    return found


def _tell_of(name: str, folder: Path | None) -> None:
    import pyotp

    if folder is None or not (folder / ACCOUNTS).exists():
        raise typer.BadParameter(
            f"say with --keep where the demo is; its {ACCOUNTS} tells who is in it", param_hint="--who"
        )
    people = {each["name"]: each for each in _people(folder)}
    if name not in people:
        raise typer.BadParameter(f"{name!r} is none of {', '.join(sorted(people))}", param_hint="--who")
    each = people[name]
    print(f"name               {name}")
    print(f"password           {each['password']}")
    if each["one_time_password"] is not None:
        print(f"one-time password  {pyotp.TOTP(each['one_time_password']).now()}")
