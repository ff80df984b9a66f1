"""The time of day."""

from datetime import UTC, datetime


class SystemClock:
    """The machine's clock."""

    def now(self) -> datetime:
        """The time, aware, in UTC."""
        return datetime.now(UTC)
