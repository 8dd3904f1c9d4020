"""Patterns that are made: followed while she makes them up, and written out when she has."""
