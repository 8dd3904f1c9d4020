"""What judges a command: does it make sense, can the number be meant, is it asked about first."""
