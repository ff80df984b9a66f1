"""A program of the system's that is given a stranger's picture, run within limits: the process confines itself, and then
becomes it.

It is a script, started by children.py with the limits, the folder of the application, and the program's own words."""

import os
import sys


def main(memory: str, processor: str, application: str, program: str, *words: str) -> None:
    """Become the program, with the environment as it is."""
    sys.path.append(application)
    from app.adapters.reading.confinement import confine

    confine(int(memory), int(processor))
    os.execv(program, [program, *words])  # noqa: S606, that no shell comes between is the point


if __name__ == "__main__":
    main(*sys.argv[1:])
