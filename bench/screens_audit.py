"""
How large the words of every screen are, how they stand out, and how large its targets are.

python bench/screens_audit.py [DEVICE...]
"""

from __future__ import annotations

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from app.session.settings import PALETTES, Settings
from tests.screen_audit import SCREENS_SHOWN, audited
from tests.window_driver import Driver

DEVICES = ("desktop", "tablet", "tablet on its side", "phone", "phone on its side")
SCALES = (1.0, 2.0)


def main() -> int:
    """Look at every screen, and print the least of each measure and where it is."""
    faults = 0
    for device in sys.argv[1:] or DEVICES:
        for scale in SCALES:
            for palette in PALETTES if scale == 1.0 else PALETTES[:1]:
                print(f"{device}, {palette}, {scale:.0%}")
                driver = Driver(screen=device, settings=Settings(palette=palette, text_scale=scale))
                for name in SCREENS_SHOWN:
                    found = audited(driver, name)
                    faults += len(found.faults)
                    print(
                        f"  {name:<24} text {found.text.value:4.1f} mm ({found.text.words[:24]}), "
                        f"important {found.important.value:4.1f} mm "
                        f"({found.important.words[:24]}), contrast {found.contrast.value:4.1f}, "
                        f"target {found.target.value:4.1f} mm ({found.target.words[:16]})",
                        *found.faults,
                        sep="\n    ",
                        flush=True,
                    )
                driver.close()
    print(f"{faults} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
