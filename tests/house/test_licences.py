"""Every package that the product needs is named with its licence, and says so itself."""

from __future__ import annotations

import importlib.metadata
import re
from pathlib import Path

from packaging.utils import canonicalize_name

from house.environment import RUN_LOCK

_ROOT = Path(__file__).parent.parent.parent
_ROW = re.compile(r"^\| ([a-z][a-z0-9-]*) \| ([^|]+) \| [^|]+ \|$", re.MULTILINE)
_FAMILIES = {
    "MIT": r"\bMIT\b",
    "BSD": r"BSD",
    "Apache": r"Apache",
    "MPL": r"MPL|Mozilla",
    "PSF": r"PSF|Python Software Foundation",
    "public domain": r"Public Domain",
}
"""Each family of licences with what a package's own description calls it."""


def _listed() -> dict[str, str]:
    """Return the licence of each package in the table of what is fetched for running."""
    page = (_ROOT / "docs" / "LICENCES.md").read_text(encoding="utf-8")
    table = page.partition("## What setting up fetches for running")[2]
    return {name: licence for name, licence in _ROW.findall(table) if name != "package"}


def _locked() -> set[str]:
    lines = (_ROOT / RUN_LOCK).read_text(encoding="utf-8").splitlines()
    return {
        canonicalize_name(line.split("==")[0]) for line in lines if re.match(r"[A-Za-z0-9]", line)
    }


def test_every_table_recording_and_list_is_named() -> None:
    """No table, no list of words and no folder of sound, pictures or fonts lacks its licence."""
    page = (_ROOT / "docs" / "LICENCES.md").read_text(encoding="utf-8")
    named = [
        *(_ROOT / "shared" / "tables").glob("*.toml"),
        *(_ROOT / "shared/phrases").glob("*.txt"),
    ]
    sounds = {sound.parent for top in ("assets", "tests") for sound in (_ROOT / top).rglob("*.wav")}
    pictures = {one.parent for one in (_ROOT / "assets").rglob("*.png")}
    fonts = {one.parent for one in (_ROOT / "assets").rglob("*.ttf")}
    for path in (*named, *sounds, *pictures, *fonts):
        assert f"`{path.relative_to(_ROOT).as_posix()}`" in page, path


def test_every_package_is_listed_and_no_other() -> None:
    """The table names exactly the packages of the product's lock file."""
    assert set(_listed()) == _locked()


def _said(package: str) -> str | None:
    """Return what an installed package gives as its licence; None if it is not needed here."""
    try:
        described = importlib.metadata.metadata(package)
    except importlib.metadata.PackageNotFoundError:
        return None
    given = [
        *(described.get_all("License-Expression") or ()),
        *(described.get_all("License") or ()),
    ]
    named = [one for one in described.get_all("Classifier") or () if one.startswith("License")]
    return " ".join([*(one.partition("\n")[0] for one in given), *named])


def test_packages_say_the_same_of_themselves() -> None:
    """What an installed package gives as its licence is of the family that the table names."""
    found = {package: _said(package) for package in _listed()}
    assert len([said for said in found.values() if said is not None]) > 20
    for package, licence in _listed().items():
        family = next(name for name in _FAMILIES if licence.startswith(name))
        said = found[package]
        assert said is None or re.search(_FAMILIES[family], said, re.IGNORECASE), (package, said)
