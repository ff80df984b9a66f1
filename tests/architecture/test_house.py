"""The house's rules, checked with the tools that know them and by looking at the files."""

import ast
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

TOP = Path(__file__).parents[2]
CODE = ("app", "migrations", "seed_demo", "tests")
LONGEST = 400
# The cases of one module may be many.
LONGEST_TEST = 800

SQL_LIBRARIES = {"alembic", "psycopg", "pysqlite3", "sqlalchemy", "sqlite3", "sqlmodel"}
SQL_CALLS = {"exec", "exec_driver_sql", "execute", "executemany", "select", "text"}


def run(*words: str) -> None:
    tool = shutil.which(words[0], path=str(Path(sys.executable).parent))
    assert tool is not None, f"{words[0]} is not installed"
    ran = subprocess.run([tool, *words[1:]], cwd=TOP, capture_output=True, text=True, check=False)
    assert ran.returncode == 0, ran.stdout + ran.stderr


def python_files(*folders: str) -> Iterator[Path]:
    for folder in folders:
        yield from sorted((TOP / folder).rglob("*.py"))


def named(path: Path) -> str:
    return str(path.relative_to(TOP))


def test_dependencies_point_down_only() -> None:
    run("lint-imports", "--no-cache")


def test_types_hold() -> None:
    run("mypy")


def test_the_code_is_clean() -> None:
    run("ruff", "check")


def test_no_module_is_a_drawer() -> None:
    drawers = {"utils", "helpers", "util", "helper", "common", "misc"}
    assert [named(path) for path in python_files(*CODE) if path.stem in drawers or path.parent.name in drawers] == []


def test_a_file_is_one_idea() -> None:
    lengths = {named(path): len(path.read_text().splitlines()) for path in python_files(*CODE)}
    longest = {name: LONGEST_TEST if name.startswith("tests") else LONGEST for name in lengths}
    assert {name: length for name, length in lengths.items() if length > longest[name]} == {}


@pytest.mark.parametrize("path", [*python_files("app", "seed_demo")], ids=named)
def test_only_persistence_speaks_sql(path: Path) -> None:
    if "persistence" in path.relative_to(TOP).parts:
        return
    found = []
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.Import):
            found += [alias.name for alias in node.names if alias.name.split(".")[0] in SQL_LIBRARIES]
        elif isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] in SQL_LIBRARIES:
            found.append(str(node.module))
        elif isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in SQL_CALLS:
            whose = node.func.value
            if isinstance(whose, ast.Name) and whose.id in {"connection", "cursor", "session"}:
                found.append(f"{whose.id}.{node.func.attr}, line {node.lineno}")
    assert found == []


def test_services_alone_run_queries() -> None:
    above = [
        path for path in python_files("app") if path.relative_to(TOP / "app").parts[0] in {"cli", "web", "adapters"}
    ]
    for path in above:
        source = path.read_text()
        assert "persistence.queries" not in source, named(path)
        assert "persistence import queries" not in source, named(path)


def test_the_top_level_holds_what_belongs_there() -> None:
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
        cwd=TOP,
        capture_output=True,
        text=True,
        check=False,
    )
    top = {line.split("/")[0] for line in listed.stdout.splitlines()}
    allowed = {
        "README.md",
        "DEVELOPERS.md",
        "LICENSE",
        "pyproject.toml",
        "app",
        "migrations",
        "tests",
        "seed_demo",
        "docs",
    }
    assert {name for name in top - allowed if not name.startswith(".")} == set()


def test_ci_runs_the_readmes_own_test_command() -> None:
    command = (TOP / ".ci" / "run").read_text().strip().splitlines()[-1]
    assert "pytest" in command
    assert command in (TOP / "README.md").read_text()
