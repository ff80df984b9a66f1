"""The worker: drains the outbox."""
