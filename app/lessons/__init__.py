"""Lessons: steps that say, show, wait until she is ready, count, and rescue."""
