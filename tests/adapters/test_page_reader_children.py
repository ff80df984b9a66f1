"""What a child that reads may not do, and what its parent makes of however it ends."""

import json
import os
import signal
import socket
import sys
import time
from collections.abc import Callable
from pathlib import Path

import msgspec
import pytest

from app.adapters import page_reader
from app.adapters.page_reader import CHILD, LIMITS, ConfinedPageReader
from app.adapters.reading.children import MOST_SAID, Ended, run
from app.adapters.reading.confinement import NOT_READY, Limits
from app.adapters.reading.talk import Answer
from app.core.errors import CantrailError, Kind
from app.core.pages import Box, Page, Run
from app.services.ports import ReadText

TOP = str(Path(__file__).parents[2])
PATIENCE_S = 120.0
"""How long is waited for what comes in a moment, but not on a machine that has too much to do."""
PATIENT = Limits(LIMITS.memory, LIMITS.processor, PATIENCE_S)
SOON = Limits(LIMITS.memory, LIMITS.processor, 0.5)
CONFINED = f"""
import sys
sys.path.append({TOP!r})
from app.adapters.reading import confinement
confinement.confine(int(sys.argv[1]), int(sys.argv[2]))
"""


@pytest.fixture
def child(tmp_path: Path) -> Callable[[str], Path]:
    def written(code: str) -> Path:
        script = tmp_path / "child.py"
        script.write_text(code)
        return script

    return written


def said(script: Path, limits: Limits = PATIENT, given: bytes = b"") -> Ended:
    return run(script, (), given, limits, {})


def refusal(script: Path, limits: Limits = PATIENT, content: bytes = b"%PDF-1.7") -> CantrailError:
    with pytest.raises(CantrailError) as refused:
        ConfinedPageReader(child=script, limits=limits, programs="/nowhere").read(content, "application/pdf")
    return refused.value


def test_the_limits_are_as_published() -> None:
    assert Limits(memory=536_870_912, processor=10, seconds=20.0) == LIMITS


def test_a_child_holds_itself_to_its_limits(child: Callable[[str], Path]) -> None:
    script = child(
        CONFINED + "import json, resource as r\n"
        "print(json.dumps({n: r.getrlimit(getattr(r, 'RLIMIT_' + n)) for n in "
        "('AS', 'CPU', 'FSIZE', 'CORE', 'NPROC', 'NOFILE')}))"
    )
    assert json.loads(said(script).said) == {
        "AS": [536_870_912] * 2,
        "CPU": [10, 11],
        "FSIZE": [0, 0],
        "CORE": [0, 0],
        "NPROC": [0, 0],
        "NOFILE": [32, 32],
    }


def test_a_child_gets_no_more_memory(child: Callable[[str], Path]) -> None:
    ended = said(child(CONFINED + "try: bytearray(600 << 20)\nexcept MemoryError: print('none')"))
    assert (ended.said, ended.code) == (b"none\n", 0)


def test_a_child_that_computes_for_ever_is_ended(child: Callable[[str], Path]) -> None:
    ended = said(child(CONFINED + "while True: pass"), Limits(LIMITS.memory, 1, PATIENCE_S))
    assert ended == Ended(b"", -signal.SIGXCPU, at_a_limit=True)


def test_a_child_that_waits_for_ever_is_ended(child: Callable[[str], Path]) -> None:
    error = refusal(child("import time\nwhile True: time.sleep(9)"), SOON)
    assert (error.kind, error.code) == (Kind.UNSUPPORTED, "file_bomb")


def test_a_child_that_is_done_but_does_not_go_is_ended(child: Callable[[str], Path]) -> None:
    ended = said(child("import os, time\nos.close(1)\ntime.sleep(60)"), SOON)
    assert ended == Ended(b"", -signal.SIGKILL, at_a_limit=True)


def test_what_a_child_started_goes_with_it(child: Callable[[str], Path], tmp_path: Path) -> None:
    note = tmp_path / "started"
    script = child(
        "import subprocess, sys, pathlib\n"
        "started = subprocess.Popen([sys.executable, '-c', 'import time; time.sleep(60)'], stdout=subprocess.DEVNULL)\n"
        f"pathlib.Path({str(note)!r}).write_text(str(started.pid))"
    )
    assert said(script).code == 0
    deadline = time.monotonic() + PATIENCE_S
    while is_running(int(note.read_text())) and time.monotonic() < deadline:
        time.sleep(0.01)
    assert not is_running(int(note.read_text()))


def is_running(process: int) -> bool:
    try:
        state = Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0]
    except FileNotFoundError:
        return False
    return state != "Z"


def test_a_child_is_not_heard_beyond_a_size(child: Callable[[str], Path]) -> None:
    ended = said(child("import sys\nwhile True: sys.stdout.buffer.write(bytes(1 << 20))"))
    assert ended.at_a_limit
    assert len(ended.said) <= MOST_SAID + 65_536


def test_a_child_that_takes_nothing_in_is_heard(child: Callable[[str], Path]) -> None:
    ended = said(child("import os\nos.close(0)\nprint('heard')"), given=bytes(5_000_000))
    assert ended == Ended(b"heard\n", 0, at_a_limit=False)


def test_a_child_may_say_much_before_it_takes_anything_in(child: Callable[[str], Path]) -> None:
    ended = said(
        child("import sys\nsys.stdout.buffer.write(bytes(5_000_000))\nprint(len(sys.stdin.buffer.read()))"),
        given=bytes(5_000_000),
    )
    assert ended.said == bytes(5_000_000) + b"5000000\n"


def test_a_child_inherits_nothing(child: Callable[[str], Path], monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("CANTRAIL_DATABASE_URL", "secret")
    with socket.create_server(("127.0.0.1", 0)) as listening:
        os.set_inheritable(listening.fileno(), True)
        ended = said(child("import json, os\nprint(json.dumps([dict(os.environ), os.listdir('/proc/self/fd')]))"))
    environment, files = json.loads(ended.said)
    assert {name for name in environment if name != "LC_CTYPE"} == set()
    assert set(files) <= {"0", "1", "2", "3"}


def test_a_child_cannot_reach_the_network_even_by_other_code(child: Callable[[str], Path]) -> None:
    with socket.create_server(("127.0.0.1", 0)) as listening:
        script = child(
            CONFINED + "import os, socket\nprint(os.readlink('/proc/self/ns/net'), flush=True)\n"
            f"try: socket.create_connection(('127.0.0.1', {listening.getsockname()[1]}), 2)\n"
            "except OSError: print('refused')"
        )
        network, _, connecting = said(script).said.decode().partition("\n")
    if network == str(Path("/proc/self/ns/net").readlink()):
        pytest.skip("this system lets no process leave its network")
    assert connecting == "refused\n"


def test_a_child_cannot_write_even_by_other_code(child: Callable[[str], Path], tmp_path: Path) -> None:
    script = child(CONFINED + f"with open({str(tmp_path / 'made')!r}, 'wb', 0) as made: made.write(b'75')")
    assert said(script).code == 1
    assert (tmp_path / "made").read_bytes() == b""


TRIED = """
import os, socket, subprocess, sys
TRIES = {
    "connect": lambda: socket.create_connection(("127.0.0.1", 9)),
    "socket": lambda: socket.socket(),
    "look up": lambda: socket.getaddrinfo("localhost", 80),
    "write": lambda: open(FOLDER + "/made", "w"),
    "append": lambda: open(FOLDER + "/here", "a"),
    "make": lambda: os.open(FOLDER + "/made", os.O_CREAT),
    "folder": lambda: os.mkdir(FOLDER + "/made"),
    "remove": lambda: os.remove(FOLDER + "/here"),
    "rename": lambda: os.rename(FOLDER + "/here", FOLDER + "/made"),
    "fork": lambda: os.fork(),
    "run": lambda: subprocess.run(["true"]),
    "shell": lambda: os.system("true"),
    "become": lambda: os.execv("/bin/true", ["true"]),
    "signal": lambda: os.kill(os.getppid(), 0),
}
def done():
    found = []
    for name, act in TRIES.items():
        try: act()
        except PermissionError as error:
            if "stranger" in str(error): continue
        except OSError: pass
        found.append(name)
    return found
"""


def test_a_child_refuses_its_own_code_the_outside(child: Callable[[str], Path], tmp_path: Path) -> None:
    (tmp_path / "here").touch()
    script = child(f"FOLDER = {str(tmp_path)!r}" + TRIED + CONFINED + "confinement.refuse_the_outside()\nprint(done())")
    assert said(script) == Ended(b"[]\n", 0, at_a_limit=False)


def test_the_reading_child_is_confined_before_it_reads(tmp_path: Path) -> None:
    """A library in the place of the one that reads pictures tries everything, and tells by what it raises."""
    library = tmp_path / "PIL"
    library.mkdir()
    (tmp_path / "here").touch()
    (library / "__init__.py").touch()
    (library / "ImageOps.py").touch()
    (library / "Image.py").write_text(
        f"FOLDER = {str(tmp_path)!r}" + TRIED + "import resource\n"
        "class Image: pass\n"
        "class DecompressionBombWarning(Exception): pass\n"
        "class DecompressionBombError(Exception): pass\n"
        "def open(*_, **__):\n"
        "    memory = resource.getrlimit(resource.RLIMIT_AS)[1]\n"
        "    raise OSError('truncated' if done() or memory != 536870912 else 'all refused')\n"
    )
    asked = '{"action":"look","media_type":"image/png"}'
    ended = run(CHILD, (asked, str(tmp_path), *page_reader._paths()), b"IEND", PATIENT, {})
    assert msgspec.msgpack.decode(ended.said, type=Answer) == Answer("file_unreadable")


@pytest.mark.parametrize("ending", ["SIGSEGV", "SIGILL", "SIGTRAP", "SIGBUS", "SIGTERM"])
def test_a_child_that_crashes_is_a_file_that_cannot_be_read(child: Callable[[str], Path], ending: str) -> None:
    error = refusal(child(f"import os, signal\nos.kill(os.getpid(), signal.{ending})"))
    assert (error.kind, error.code) == (Kind.UNSUPPORTED, "file_unreadable")


def unsound(text: ReadText) -> str:
    return repr(msgspec.msgpack.encode(Answer(result=msgspec.msgpack.encode(text))))


@pytest.mark.parametrize(
    "answer",
    [
        "b''",
        "b'nonsense'",
        repr(msgspec.msgpack.encode(Answer("an_invented_code"))),
        repr(msgspec.msgpack.encode(Answer(result=b"nonsense"))),
        unsound(ReadText((), "layer")),
        unsound(ReadText((Page("75", (Run(0, 3, Box(0, 0, 1, 1)),)),), "layer")),
        unsound(ReadText((Page("75", (Run(0, 2, Box(0, 0, 1, 10_001)),)),), "layer")),
        unsound(ReadText((Page("75", (Run(0, 2, Box(9, 0, 1, 1)),)),), "layer")),
    ],
)
def test_a_child_that_says_what_cannot_be_is_not_believed(child: Callable[[str], Path], answer: str) -> None:
    error = refusal(child(f"import sys\nsys.stdout.buffer.write({answer})"))
    assert (error.kind, error.code) == (Kind.UNSUPPORTED, "file_unreadable")


def test_a_picture_that_is_none_is_not_passed_on(child: Callable[[str], Path]) -> None:
    answer = msgspec.msgpack.encode(Answer(result=msgspec.msgpack.encode(b"<script>")))
    script = child(f"import sys\nsys.stdout.buffer.write({answer!r})")
    with pytest.raises(CantrailError) as refused:
        ConfinedPageReader(child=script, limits=PATIENT).picture(b"%PDF-1.7", "application/pdf", 1)
    assert refused.value.code == "file_unreadable"


def test_a_child_that_cannot_get_ready_says_nothing_about_the_file(child: Callable[[str], Path]) -> None:
    error = refusal(child(f"raise SystemExit({NOT_READY})"))
    assert (error.kind, error.code) == (Kind.UNAVAILABLE, "reader_unavailable")


def test_a_reader_whose_packages_are_not_there_says_nothing_about_the_file(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(page_reader, "_paths", lambda: (TOP,))
    error = refusal(CHILD)
    assert (error.kind, error.code) == (Kind.UNAVAILABLE, "reader_unavailable")


def test_a_child_that_cannot_be_started_says_nothing_about_the_file(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(sys, "executable", "/nowhere/python")
    error = refusal(CHILD)
    assert (error.kind, error.code) == (Kind.UNAVAILABLE, "reader_unavailable")


def test_who_waits_too_long_for_a_turn_is_told(child: Callable[[str], Path]) -> None:
    slow = ConfinedPageReader(child=child("import time\ntime.sleep(60)"), limits=SOON, at_once=1, wait=0.1)

    def code() -> str:
        with pytest.raises(CantrailError) as refused:
            slow.look(b"%PDF-1.7", "application/pdf")
        return refused.value.code

    with slow._turn():
        assert code() == "reader_busy"
    assert code() == "file_bomb"


def test_nothing_is_left_of_a_child(child: Callable[[str], Path]) -> None:
    # Other tests of this process may have children and files of their own, which end when they end.
    files, children = open_files(), own_children()
    for code in ("print(1)", "import os\nos.abort()", "import time\ntime.sleep(9)"):
        said(child(code), SOON)
    assert open_files() <= files
    assert own_children() <= children


def open_files() -> set[Path]:
    """What this process holds open."""
    return set(Path("/proc/self/fd").iterdir())


def own_children() -> set[str]:
    """The processes that this one has begun and that nobody has waited for, the dead among them."""
    return {pid for task in Path("/proc/self/task").iterdir() for pid in (task / "children").read_text().split()}
