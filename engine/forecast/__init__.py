"""Foresee: rows and hours still to go, yarn, tension, each with what it does not know."""

from __future__ import annotations
