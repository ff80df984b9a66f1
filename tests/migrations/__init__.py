"""The tables that the migrations make."""
