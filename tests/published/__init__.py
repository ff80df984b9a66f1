"""Checks against things outside the project, each with its source named beside it."""
