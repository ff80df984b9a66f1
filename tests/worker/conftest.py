"""A trade with a worker, on each database."""

from tests.services.conftest import outdoors

__all__ = ["outdoors"]
