"""Start of the phone build; a computer starts the command ``walesong`` instead."""

from __future__ import annotations

from app.main import run

if __name__ == "__main__":
    run()
