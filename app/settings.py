"""Settings, from `CANTRAIL_…` variables or a `.env`. Read in the composition root, and nowhere else."""

from pathlib import Path

from pydantic import Field
from pydantic_settings import BaseSettings, SettingsConfigDict


class Settings(BaseSettings):
    """Where a registry lives, and how much of it is kept in memory."""

    model_config = SettingsConfigDict(env_prefix="CANTRAIL_", env_file=".env", extra="ignore")

    data_dir: Path = Path("cantrail-data")
    """The folder of evidence, and of the SQLite file where no other database is named."""

    database_url: str | None = None
    """`sqlite:///FILE` or `postgresql+psycopg://USER@HOST/NAME`."""

    dossier_capacity: int = Field(default=2000, ge=1)
    """How many subjects' dossiers a process keeps in memory."""

    @property
    def url(self) -> str:
        """The database: the one that is named, or a SQLite file in the data folder."""
        return self.database_url or f"sqlite:///{self.data_dir / 'cantrail.sqlite3'}"

    @property
    def evidence_dir(self) -> Path:
        """The folder of evidence."""
        return self.data_dir / "evidence"
