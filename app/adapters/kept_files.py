"""What lies beside a registry's database and evidence, as a backup takes it along: the last checkpoint, the public key,
and the private keys where somebody asks for them."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final

from app.adapters.safe_writing import create_file
from app.adapters.signing_key import FileSigningKey

PUBLIC_KEY: Final = "public-key"
_READABLE: Final = 0o644


def kept_beside(checkpoint: Path, signing_key: Path, private: Sequence[Path] = ()) -> dict[str, bytes]:
    """The files that there are, by the names that they have in the data folder."""
    found = {path.name: path.read_bytes() for path in (checkpoint, *private) if path.is_file()}
    key = FileSigningKey(signing_key)
    if key.exists():
        found[PUBLIC_KEY] = f"{key.verifier().text}\n".encode()
    return found


def put_back(checkpoint: Path, private: Sequence[Path], kept: Mapping[str, bytes]) -> list[Path]:
    """Put files where they were, each unless there is one already. Gives those that were put."""
    put = [path for path in (checkpoint, *private) if path.name in kept and create_file(path, kept[path.name])]
    if checkpoint in put:
        checkpoint.chmod(_READABLE)
    return put
