"""The registry over HTTP."""
