"""A real Chromium over the real application, on a copy of the demo's registry."""

import json
import os
import shutil
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from threading import Thread
from typing import Any, Final

import pytest
import uvicorn
from playwright.sync_api import Browser, BrowserContext, expect, sync_playwright

from app.bootstrap import Registry, open_registry
from app.cli.keeping import listening
from app.settings import Settings
from app.web.main import create_app
from tests.browser.typist import NO_MOUSE, Typist
from tests.browser.visitor import Account, Clock, Visitor

NAMES: Final = ("chromium", "chromium-browser", "google-chrome")
FLAGS: Final = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]

PATIENCE_MS: Final = 90_000
"""How long a page is waited for: it comes within a moment, but not on a machine that has too much to do."""
expect.set_options(timeout=PATIENCE_MS)

Come = Callable[..., Visitor]

Way = Mapping[str, bool]
"""How somebody uses their browser, as `come` takes it."""

WAYS: Final[Mapping[str, Way]] = {
    "mouse": {},
    "no-scripts": {"scripts": False},
    "keyboard": {"mouse": False},
}


def chromium() -> str | None:
    """The browser that is on this machine."""
    named = os.environ.get("CANTRAIL_CHROMIUM")
    return named or next((found for name in NAMES if (found := shutil.which(name))), None)


@pytest.fixture(scope="package")
def browser() -> Iterator[Browser]:
    """The browser. It ends with the last of these tests: while it is there, the thread takes no other event loop."""
    path = chromium()
    if path is None:
        pytest.skip("Chromium is missing: install it (`apt install chromium`), or name it in CANTRAIL_CHROMIUM")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def folder(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The data folder of the registry that is served to one module's tests."""
    return shutil.copytree(demo_folder, tmp_path_factory.mktemp("browsed") / "demo")


@pytest.fixture(scope="module")
def clock() -> Clock:
    """The registry's clock."""
    return Clock()


@pytest.fixture(scope="module")
def registry(folder: Path, clock: Clock) -> Registry:
    """The registry that is served."""
    return open_registry(Settings(data_dir=folder, database_url=None, rate_limits=False), clock=clock)


@pytest.fixture(scope="module")
def address(registry: Registry) -> Iterator[str]:
    """Where it is served. Browsers take the cookie of a session without TLS from this name only."""
    listener = listening("127.0.0.1", 0)
    server = uvicorn.Server(uvicorn.Config(create_app(registry), log_level="error", lifespan="on"))
    thread = Thread(target=server.run, kwargs={"sockets": [listener]})
    thread.start()
    yield f"http://localhost:{listener.getsockname()[1]}"
    server.should_exit = True
    thread.join()
    listener.close()


@pytest.fixture(scope="module")
def accounts(folder: Path, clock: Clock) -> dict[str, Account]:
    """Who is in the demo, by name."""
    told: list[Any] = json.loads((folder / "accounts.json").read_text(encoding="utf-8"))
    return {each["name"]: Account(each["name"], each["password"], each["one_time_password"], clock) for each in told}


@pytest.fixture
def come(browser: Browser, address: str) -> Iterator[Come]:
    """Lets somebody in, in a browser window of their own. Whatever a page complains of to the console fails the test."""
    windows: list[BrowserContext] = []
    visitors: list[Visitor] = []

    def let_in(*, width: int = 1200, dark: bool = False, scripts: bool = True, mouse: bool = True) -> Visitor:
        window = browser.new_context(
            base_url=address,
            viewport={"width": width, "height": 800},
            color_scheme="dark" if dark else "light",
            java_script_enabled=scripts,
            reduced_motion="reduce",
        )
        window.set_default_timeout(PATIENCE_MS)
        windows.append(window)
        if not mouse:
            window.add_init_script(NO_MOUSE)
        visitors.append((Visitor if mouse else Typist)(window.new_page()))
        return visitors[-1]

    yield let_in
    complaints = [each for visitor in visitors for each in visitor.complaints]
    for window in windows:
        window.close()
    assert complaints == []


@pytest.fixture(params=WAYS.values(), ids=list(WAYS))
def way(request: pytest.FixtureRequest) -> Way:
    """Each way in turn."""
    found: Way = request.param
    return found
