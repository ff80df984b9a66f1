"""Cantrail: what a vehicle's roof may carry, who says so, and what may still go up."""
