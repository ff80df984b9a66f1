"""What the program writes down about itself, on standard error: a line of JSON for each thing that happened, or a line
to read where somebody looks on.

Whatever a line is about was written by others. Nothing in it may end the line, hide a part of it or look like another
one, and no secret may stand in it.
"""

import logging
import re
import sys
from collections.abc import Callable, MutableMapping
from typing import Any, Final, TextIO

import structlog

Line = MutableMapping[str, Any]
Processor = Callable[[Any, str, Line], Any]

HIDDEN: Final = "[hidden]"
SECRET_NAMES: Final = frozenset({
    "authorization",
    "code_shown",
    "cookie",
    "one_time_code",
    "otp",
    "password",
    "recovery_code",
    "secret",
    "set_cookie",
    "token",
})  # fmt: skip
"""Nothing is logged under these names, whatever it is."""

_SECRETS: Final = re.compile(
    r"cantrail_[A-Za-z0-9_-]+|(?i:(?<=bearer )\S+|(?<=basic )\S+)|(?<=://)[^/\s:@]+:[^/\s@]+(?=@)"
)
"""What is known for a secret by its look: our own tokens, what follows a scheme of HTTP, a password in an address."""

LONGEST: Final = 4000


def set_up(*, readable: bool | None = None, stream: TextIO | None = None) -> None:
    """Let everything that is logged in this process go to standard error as lines: to be read where that is a terminal,
    or else as JSON. What is logged is given by name, as `extra`, to the loggers of the standard library: so the server's
    and the libraries' own lines are like ours, and nothing is printed where nobody has set this up."""
    out = stream or sys.stderr
    plain = out.isatty() if readable is None else readable
    shared: list[Processor] = [
        structlog.stdlib.add_log_level,
        structlog.stdlib.add_logger_name,
        structlog.stdlib.ExtraAdder(),
        structlog.processors.TimeStamper(fmt="iso", utc=True),
        structlog.processors.format_exc_info,
        hide_secrets,
    ]
    handler = logging.StreamHandler(out)
    handler.setFormatter(
        structlog.stdlib.ProcessorFormatter(
            foreign_pre_chain=shared,
            processors=[structlog.stdlib.ProcessorFormatter.remove_processors_meta, _readable if plain else _json()],
        )
    )
    root = logging.getLogger()
    root.handlers = [handler]
    root.setLevel(logging.INFO)
    for noisy in ("httpx", "httpcore", "alembic", "sqlalchemy"):
        logging.getLogger(noisy).setLevel(logging.WARNING)
    _take_over_the_servers_own()


def _take_over_the_servers_own() -> None:
    """The server's lines go the same way; its access log is replaced by lines of our own."""
    for name in ("uvicorn", "uvicorn.error"):
        server = logging.getLogger(name)
        server.handlers = []
        server.propagate = True
        server.setLevel(logging.WARNING)
    access = logging.getLogger("uvicorn.access")
    access.handlers = []
    access.propagate = False
    error = logging.getLogger("uvicorn.error")
    if _told_already not in error.filters:
        error.addFilter(_told_already)


def _told_already(record: logging.LogRecord) -> bool:
    """Not the trace of a mistake within a request: the line of that request has it."""
    return not str(record.msg).startswith("Exception in ASGI application")


def hide_secrets(_logger: Any, _method: str, line: Line) -> Line:
    """A line without what looks like a secret or is called one, and with nothing of great length."""
    for name, value in line.items():
        if name.lower() in SECRET_NAMES:
            line[name] = HIDDEN
        elif isinstance(value, str):
            line[name] = _SECRETS.sub(HIDDEN, value[:LONGEST] if name != "exception" else value)
        elif not isinstance(value, int | float | bool | None) and not name.startswith("_"):
            line[name] = _SECRETS.sub(HIDDEN, str(value)[:LONGEST])
    return line


def _json() -> Processor:
    # ASCII alone: no control, no line separator and no change of direction is left as it is.
    return structlog.processors.JSONRenderer(ensure_ascii=True)


def _readable(_logger: Any, _method: str, line: Line) -> str:
    """Time, level, event and the rest as `name=value`; what cannot be printed is escaped, as Python's repr does."""
    at, level, event = (line.pop(name, "") for name in ("timestamp", "level", "event"))
    line.pop("logger", None)
    trace = line.pop("exception", None)
    rest = " ".join(
        f"{_printed(str(name))}={_printed(str(value))}" for name, value in line.items() if value is not None
    )
    told = f"{at} {level:<7} {_printed(str(event))} {rest}".rstrip()
    return told if trace is None else "\n".join([told, *(f"    {_printed(each)}" for each in trace.splitlines())])


def _printed(text: str) -> str:
    return "".join(letter if letter.isprintable() else ascii(letter)[1:-1] for letter in text)
