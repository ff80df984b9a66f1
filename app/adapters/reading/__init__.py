"""Reading files in a process of their own: what the two sides say, how the child is confined, how each type is read."""
