"""The shape of the house, checked with tools."""
