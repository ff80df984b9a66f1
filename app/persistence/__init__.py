"""The ledger and the tables that index it: every SQL statement is in here, and nothing above knows one."""
