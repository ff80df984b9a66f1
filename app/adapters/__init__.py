"""The outside world, behind the ports that the services declare."""
