"""Keep a registry: begin it, serve it, let time pass, make its tables again, try it out."""

import json
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from app.cli.opening import opened, settings

if TYPE_CHECKING:
    from app.bootstrap import Registry

Host = Annotated[str, typer.Option(help="The address to listen on.")]
Port = Annotated[int, typer.Option(min=1, max=65535, help="The port to listen on.")]


def add_to(app: typer.Typer) -> None:
    """Add these commands."""
    for command in (init, serve, daily, rebuild, demo):
        app.command()(command)


def init() -> None:
    """Make a registry, or bring one up to date. Doing it again does no harm."""
    from app.bootstrap import prepare
    from app.services import rebuilding

    named = settings()
    database = prepare(named)
    with database.write() as session:
        begun = rebuilding.begin(session, now=_now())
    database.dispose()
    print(f"The registry in {named.data_dir} is {'ready' if begun else 'up to date'}.")


def _now() -> Any:
    from app.adapters.clock import SystemClock

    return SystemClock().now()


def serve(host: Host = "127.0.0.1", port: Port = 8000) -> None:
    """Serve the registry over HTTP."""
    from app.bootstrap import open_registry

    run_server(open_registry(settings()), host, port)


def run_server(registry: "Registry", host: str, port: int) -> None:
    """Serve until stopped."""
    import uvicorn

    from app.bootstrap import SERVED

    # The application is loaded by its name, as any ASGI server would: the command line knows no web.
    SERVED.set(registry)
    config = uvicorn.Config(
        "app.web.main:served", factory=True, host=host, port=port, log_level="warning", server_header=False
    )
    try:
        with suppress(KeyboardInterrupt):
            uvicorn.Server(config).run()
    except SystemExit as stopped:
        # The server has told why it cannot start, and exits with 3: here that says that a roof is overloaded.
        raise typer.Exit(1) from stopped


def daily() -> None:
    """Enter what time has done: claims past their review-by date, disputes that lapse. Run it once a day."""
    from app.services import daily as service

    with (
        opened() as registry,
        _progress("Looking at claims and disputes") as told,
        registry.database.write() as session,
    ):
        work = service.system_work(session, registry.clock.now(), registry.store)
        done = service.run(work, progress=told)
    print(f"{done.aged} claims aged, {done.lapsed} disputes lapsed.")


def rebuild() -> None:
    """Drop the tables and replay the ledger into them."""
    from app.services import rebuilding

    with opened() as registry, _progress("Replaying the ledger") as told, registry.database.write() as session:
        entries = rebuilding.rebuild(session, progress=told)
    print(f"The tables are made again from {entries} entries.")


def demo(
    keep: Annotated[Path | None, typer.Option(help="Keep the registry in this folder, or serve the one in it.")] = None,
    host: Host = "127.0.0.1",
    port: Port = 8000,
    serve: Annotated[bool, typer.Option(help="Serve it, or only make it.")] = True,
) -> None:
    """Try it out with an invented world of vehicles, racks, papers and people.

    Without --keep it is thrown away at the end.
    """
    if keep is not None:
        _demo_in(keep, host, port, serve=serve)
        return
    with tempfile.TemporaryDirectory(prefix="cantrail-demo-") as folder:
        _demo_in(Path(folder), host, port, serve=serve)


def _demo_in(folder: Path, host: str, port: int, *, serve: bool) -> None:
    from app.bootstrap import open_registry, prepare
    from app.settings import Settings

    own = Settings(data_dir=folder, database_url=None)
    told = folder / "accounts.json"
    if not told.exists():
        database = prepare(own)
        people = _load_scenario(database, own)
        database.dispose()
        told.write_text(json.dumps(people, indent=2) + "\n", encoding="utf-8")
        told.chmod(0o600)
    people = json.loads(told.read_text(encoding="utf-8"))
    _tell(folder, host, port, people)
    if serve:
        run_server(open_registry(own), host, port)


def _load_scenario(database: Any, settings: Any) -> list[Any]:
    from app.adapters.evidence_store import FolderEvidenceStore
    from seed_demo.load import load

    with _progress("Loading the demo scenario") as told:
        return list(load(database, FolderEvidenceStore(settings.evidence_dir), now=_now(), progress=told))


def _tell(folder: Path, host: str, port: int, people: list[dict[str, str]]) -> None:
    address = f"http://{host}:{port}/api/v1"
    print(f"""
The demo registry is in {folder}. All in it is invented. Try:

  curl -s '{address}/vehicles?q=orin+tarn'
  curl -s '{address}/vehicles/orrin-tarn-t2-2019/limit?condition=on_road'
  cantrail --data-dir {folder} budget --vehicle orrin-tarn-t2-2019 \\
      --condition off_road --carrier pellwick-slatten-rough-p2-2021 --gear awning=14

To submit and decide, send a token as `Authorization: Bearer TOKEN`:
""")
    shown = [each for each in people if each["role"] == "contributor"][:1]
    shown += [each for each in people if each["role"] == "reviewer"][:2]
    for each in shown:
        print(f"  {each['role']:<12} {each['name']:<16} {each['token']}")
    print(f"\nEverybody's are in {folder / 'accounts.json'}.\n", flush=True)


@contextmanager
def _progress(title: str) -> Iterator[Callable[[int, int], None]]:
    """A bar on the terminal, and nothing where the output goes elsewhere."""
    from rich.console import Console
    from rich.progress import Progress

    with Progress(console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task(title, total=None)

        def told(done: int, of: int) -> None:
            bar.update(task, completed=done, total=of)

        yield told
