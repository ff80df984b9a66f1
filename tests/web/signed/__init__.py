"""Signing in, over HTTP, with a clock that is set by hand."""
