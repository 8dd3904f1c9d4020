"""The finished pattern as a designer hands it out: composed once, written in three forms."""
