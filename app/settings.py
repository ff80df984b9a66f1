"""Settings, from `CANTRAIL_…` variables or a `.env`. Read in the composition root, and nowhere else."""

from pathlib import Path

from limits import RateLimitItem, parse
from pydantic import Field, field_validator
from pydantic_settings import BaseSettings, SettingsConfigDict

BUCKETS = ("read", "write", "upload", "costly")
"""What is counted apart of what somebody asks."""


def rates(said: str) -> dict[str, RateLimitItem]:
    """What a setting of limits says of each bucket. Raises ValueError."""
    pairs = [part.strip().partition(" ") for part in said.split(",")]
    found = {name: parse(limit) for name, _, limit in pairs}
    if found.keys() != set(BUCKETS):
        raise ValueError(f"Say a limit for each of {', '.join(BUCKETS)}, as in: read 1200/minute, write 60/minute")
    return found


class Settings(BaseSettings):
    """Where a registry lives, and how much of it is kept in memory."""

    model_config = SettingsConfigDict(env_prefix="CANTRAIL_", env_file=".env", extra="ignore")

    data_dir: Path = Path("cantrail-data")
    """The folder of evidence, and of the SQLite file where no other database is named."""

    database_url: str | None = None
    """`sqlite:///FILE` or `postgresql+psycopg://USER@HOST/NAME`."""

    dossier_capacity: int = Field(default=2000, ge=1)
    """How many subjects' dossiers a process keeps in memory."""

    rate_limits: bool = True
    """Whether requests are limited at all."""

    rate_anonymous: str = "read 1200/minute, write 60/minute, upload 10/minute, costly 60/minute"
    """How much one address may ask without being signed in."""

    rate_signed_in: str = "read 6000/minute, write 300/minute, upload 60/minute, costly 600/minute"
    """How much one account may ask."""

    rate_storage: str = "memory://"
    """Where requests are counted: in each process, or in a store that several share, by a URI of the library limits."""

    hosts: str = ""
    """The names that the server answers to in the Host header, with commas between them; any if empty."""

    log_addresses: bool = True
    """Whether the log names the network addresses that requests come from."""

    log_answers: bool = False
    """Whether each answer from memory gets a line of its own in the log."""

    security_contact: str = ""
    """Where to report a weakness: a mailto: or https: address, for /.well-known/security.txt."""

    origin: str | None = Field(default=None, pattern=r"^[^\s+]{1,200}$")
    """The name under which the ledger's checkpoints are signed, as in `roofs.example.org/ledger`. It is fixed when the key
    is made."""

    checkpoint_copy: Path | None = None
    """A file on another disk, in which the last checkpoint is kept too."""

    data_licence: str = Field(default="CC-BY-4.0", min_length=1, max_length=100)
    """Under which licence the registry's data may be used: its SPDX identifier, or its name."""

    open_registration: bool = False
    """Whether anybody may make themselves an account, as a contributor."""

    @field_validator("rate_anonymous", "rate_signed_in")
    @classmethod
    def _are_rates(cls, said: str) -> str:
        rates(said)
        return said

    @property
    def url(self) -> str:
        """The database: the one that is named, or a SQLite file in the data folder."""
        return self.database_url or f"sqlite:///{self.data_dir / 'cantrail.sqlite3'}"

    @property
    def evidence_dir(self) -> Path:
        """The folder of evidence."""
        return self.data_dir / "evidence"

    @property
    def signing_key(self) -> Path:
        """The file of the key that signs checkpoints."""
        return self.data_dir / "signing-key"

    @property
    def checkpoint(self) -> Path:
        """The file of the last checkpoint."""
        return self.data_dir / "checkpoint"

    @property
    def sealing_key(self) -> Path:
        """The file of the key with which secrets in the database are sealed."""
        return self.data_dir / "sealing-key"

    @property
    def private_keys(self) -> tuple[Path, ...]:
        """The files that nobody but the registry may read, and that a backup has only where somebody asks for them."""
        return (self.signing_key, self.sealing_key)
