"""What the registry answers, as it is sent: one shape for the API and the command line's --json."""
