"""What people and programs do with the registry: submit, review, ask."""
