"""The process that reads one stranger's file: it confines itself, gets ready, and only then takes the file in.

It is a script, started by children.py with the limits, what is asked, and where packages are."""

import os
import sys


def main(memory: str, processor: str, asked: str, *paths: str) -> None:
    """Read the file on standard input and answer on standard output. Ends at once: nothing here is worth tidying."""
    sys.path.extend(paths)
    from app.adapters.reading import confinement

    try:
        confinement.confine(int(memory), int(processor))
        from app.adapters.reading.answering import prepared

        answer = prepared(asked)
        confinement.refuse_the_outside()
    except Exception:  # noqa: BLE001, whatever it is, it is not the file's fault
        os._exit(confinement.NOT_READY)
    sys.stdout.buffer.write(answer(sys.stdin.buffer.read()))
    sys.stdout.flush()
    os._exit(0)


if __name__ == "__main__":
    main(*sys.argv[1:])
