"""The rules, pure: no clock, no chance, no files, no framework."""
