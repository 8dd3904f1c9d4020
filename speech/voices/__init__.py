"""What the knitter hears or feels: one module for each kind of voice and tone player."""
