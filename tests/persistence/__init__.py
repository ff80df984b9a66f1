"""The ledger, the tables and the sessions, on both databases."""
