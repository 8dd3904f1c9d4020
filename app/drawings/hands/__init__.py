"""Hands, needles and yarn, drawn by code: one pose for every move that a beginner has to see."""
