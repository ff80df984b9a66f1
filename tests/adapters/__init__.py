"""What implements the ports."""
