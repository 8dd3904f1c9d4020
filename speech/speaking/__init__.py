"""Answering aloud: who has the floor, what is sounded or said, and the devices that do it."""
