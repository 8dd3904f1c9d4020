"""The command line: one module for each sub-command, and knitting in the terminal."""
