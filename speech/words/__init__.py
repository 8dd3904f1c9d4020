"""Words and what they mean, both ways: phrases to commands, replies and rows to sentences."""
