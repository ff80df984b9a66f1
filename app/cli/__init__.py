"""The command line: thin over the services."""
