"""Who enters, who reads, who keeps house: handles, never names."""

from __future__ import annotations

from seed_demo.shapes import AccountBody

# Contributors.
PIPISTREL = "pipistrel"
OXBOW = "oxbow"
MARRAM = "marram"

# Reviewers.
QUILLON = "quillon"
SEDGE = "sedge-and-rule"
TAMBOUR = "tambour"
UNDERFELL = "underfell"
VERJUICE = "verjuice"

# Stewards.
HOLLOWICK = "hollowick"
BELLMOOR = "bellmoor"

ACCOUNTS: tuple[AccountBody, ...] = (
    {"name": PIPISTREL, "role": "contributor"},
    {"name": OXBOW, "role": "contributor"},
    {"name": MARRAM, "role": "contributor"},
    {"name": QUILLON, "role": "reviewer"},
    {"name": SEDGE, "role": "reviewer"},
    {"name": TAMBOUR, "role": "reviewer"},
    {"name": UNDERFELL, "role": "reviewer"},
    {"name": VERJUICE, "role": "reviewer"},
    {"name": HOLLOWICK, "role": "steward"},
    {"name": BELLMOOR, "role": "steward"},
)
