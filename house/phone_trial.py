"""A package for a phone or tablet, to try Walesong there: put together from ready-made parts.

``python -m house.phone_trial --trust-parts``; it is for trying and says so. Nothing native is
compiled: Python, the window's library and the recogniser come as others have built them
(`phone/parts.toml`). The same checkout gives the same bytes, up to the signature, whose key is made
once and kept in the user's data folder.
"""

from __future__ import annotations

import argparse
import gzip
import hashlib
import io
import os
import shutil
import subprocess
import sys
import tarfile
import tempfile
import tomllib
import zipfile
from pathlib import Path
from typing import TYPE_CHECKING, Final

from house.phone_parts import Part, parts, provide
from house.phone_tree import lay_out
from house.trouble import Trouble

if TYPE_CHECKING:
    from collections.abc import Iterable

ROOT: Final = Path(__file__).resolve().parent.parent
MADE: Final = ROOT / "build" / "walesong-trial.apk"
TOOLS: Final = ("aapt", "zipalign", "apksigner", "keytool")
FRAMEWORK: Final = Path("/usr/share/android-framework-res/framework-res.apk")
INSTALL: Final = (
    "apt-get install --no-install-recommends aapt zipalign apksigner android-framework-res"
    " default-jdk-headless"
)
PYTHON: Final = (3, 11)
"""Whose bytecode the Python inside reads."""

_TEMPLATE: Final = "apkvolt/apkvolt_apk_base/APKVolt_App.apk"
_LIBRARIES: Final = "lib/arm64-v8a/"
BUNDLE: Final = f"{_LIBRARIES}libpybundle.so"
PRIVATE: Final = "assets/private.tar"
"""The two archives: the Python inside, and the program with its model."""
_RECOGNISER: Final = "vosk_termux/lib/libvosk.so"
_SITE: Final = "_python_bundle/site-packages/"
KEPT: Final = ("kivy", "jnius", "jnius_config.pyc", "numpy", "plyer", "android")
"""Of the packages that come with the Python inside; all others are not ours and are left out."""
OURS: Final = ("lark", "pint", "flexcache", "flexparser", "platformdirs", "typing_extensions.py")
"""Pure packages of this environment, from its lock file."""
_UNUSED: Final = ("/tests/", "/test/", "_test", "xxlimited", "_xxtest", "kivy/tools/", "/include/")
_OLD: Final = (1981, 1, 1, 1, 1, 2)
"""The date of every file in the package."""
_STORED: Final = (".arsc", ".png")


def main(arguments: list[str] | None = None) -> int:
    """Say whose builds it is made of, and make it if they are trusted."""
    parser = argparse.ArgumentParser(prog="make phone-trial", description=__doc__)
    parser.add_argument(
        "--trust-parts", action="store_true", help="use the builds by private persons"
    )
    options = parser.parse_args(arguments)
    chosen = parts()
    print(warning(chosen), flush=True)
    if not options.trust_parts:
        print('Nothing was fetched or made. To go on: make phone-trial ARGS="--trust-parts"')
        return 1
    try:
        check_tools()
        make(chosen, MADE)
    except (Trouble, OSError, subprocess.CalledProcessError) as trouble:
        print(trouble, file=sys.stderr)
        return 1
    print(
        f"{MADE.relative_to(ROOT)}: {MADE.stat().st_size / 1e6:.1f} MB, signed."
        " docs/PHONE-TEST.md says how it is tried."
    )
    return 0


def warning(chosen: Iterable[Part]) -> str:
    """Return what has to be known before anybody installs it."""
    lines = ["The trial package has in it builds by private persons, whom nobody vouches for:"]
    lines += [
        f"  {one.coordinate}, by {one.made_by}: {one.brings}. {one.licence}."
        for one in chosen
        if one.private
    ]
    return "\n".join([*lines, "It is for trying. It has no permission to use a network."])


def check_tools() -> None:
    """Trouble, with the line that helps, where something is missing."""
    if sys.version_info[:2] != PYTHON:
        raise Trouble("The trial package needs an environment of Python 3.11: its bytecode.")
    missing = [tool for tool in TOOLS if shutil.which(tool) is None]
    if not FRAMEWORK.is_file():
        missing.append(FRAMEWORK.name)
    if missing:
        raise Trouble(f"{', '.join(missing)}: not here. On Debian: {INSTALL}")


def make(chosen: Iterable[Part], target: Path) -> None:
    """Make the signed package; Trouble where a part is not what it should be."""
    from app import resources  # noqa: PLC0415 - only the environment has what it imports

    folder = resources.cache_folder() / "phone-parts"
    files = {one.name: provide(one, folder) for one in chosen}
    target.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as made:
        work = Path(made)
        unsigned(files, resources.cache_folder() / resources.MODEL_NAME, work)
        key = _key(resources.data_folder() / "phone-trial.keystore")
        named = ("--ks", str(key), "--ks-pass", "pass:walesong", "--min-sdk-version", "24")
        _run("apksigner", "sign", *named, "--out", str(target), str(work / "aligned.apk"))


def unsigned(files: dict[str, Path], model: Path, work: Path) -> Path:
    """Put everything into `work/aligned.apk`, the same bytes at every time; return it."""
    with zipfile.ZipFile(files["apkvolt"]) as wheel:
        template = zipfile.ZipFile(io.BytesIO(wheel.read(_TEMPLATE)))
    tree, bundle = work / "tree", work / "bundle"
    lay_out(tree, model)
    _unpack_bundle(template, bundle)
    for name in OURS:
        _copy_ours(name, bundle / _SITE)
    _compile(tree)
    _compile(bundle / _SITE)
    (tree / "p4a_env_vars.txt").write_bytes(
        b"P4A_IS_WINDOWED=True\nKIVY_ORIENTATION=\nP4A_NUMERIC_VERSION=None\nP4A_MINSDK=24\n"
    )
    private = packed(tree)
    inside = {name: template.read(name) for name in template.namelist() if name.endswith(".dex")}
    inside |= {
        name: template.read(name)
        for name in template.namelist()
        if name.startswith(_LIBRARIES) and name != BUNDLE
    }
    with zipfile.ZipFile(files["vosk-termux"]) as wheel:
        inside[f"{_LIBRARIES}libvosk.so"] = wheel.read(_RECOGNISER)
    inside[BUNDLE] = packed(bundle)
    inside[PRIVATE] = private
    version = hashlib.sha256(private + inside[BUNDLE]).hexdigest()[:16]
    inside |= _resources(work / "res", version, work / "base.apk")
    with zipfile.ZipFile(work / "whole.apk", "w") as package:
        for name in sorted(inside):
            entry = zipfile.ZipInfo(name, _OLD)
            entry.external_attr = 0o644 << 16
            already = name.endswith(_STORED) or name in {BUNDLE, PRIVATE}
            entry.compress_type = zipfile.ZIP_STORED if already else zipfile.ZIP_DEFLATED
            package.writestr(entry, inside[name], compresslevel=9)
    _run("zipalign", "-f", "-p", "4", str(work / "whole.apk"), str(work / "aligned.apk"))
    return work / "aligned.apk"


def packed(folder: Path) -> bytes:
    """Return a folder as the archive that is unpacked at the first start: ustar, gzip, no dates."""
    plain = io.BytesIO()
    with tarfile.open(fileobj=plain, mode="w", format=tarfile.USTAR_FORMAT) as archive:
        for file in sorted(folder.rglob("*")):
            entry = tarfile.TarInfo(file.relative_to(folder).as_posix())
            entry.mode = 0o755 if file.is_dir() else 0o644
            entry.type = tarfile.DIRTYPE if file.is_dir() else tarfile.REGTYPE
            if file.is_dir():
                archive.addfile(entry)
                continue
            entry.size = file.stat().st_size
            with file.open("rb") as content:
                archive.addfile(entry, content)
    return gzip.compress(plain.getvalue(), 9, mtime=0)


def _unpack_bundle(template: zipfile.ZipFile, bundle: Path) -> None:
    """Take the Python inside, without what is not ours."""
    with tarfile.open(fileobj=io.BytesIO(template.read(BUNDLE)), mode="r:gz") as archive:
        for member in archive.getmembers():
            inside = member.name.removeprefix("./")
            package = inside.removeprefix(_SITE).partition("/")[0]
            if inside.startswith(_SITE) and package not in KEPT:
                continue
            if member.isfile() and not any(part in inside for part in _UNUSED):
                member.name = inside
                archive.extract(member, bundle, filter="data")


def _copy_ours(name: str, site: Path) -> None:
    """Copy a pure package of this environment."""
    source = next(
        Path(folder, name) for folder in sys.path if folder and Path(folder, name).exists()
    )
    if source.is_dir():
        shutil.copytree(source, site / name, ignore=shutil.ignore_patterns("__pycache__"))
    else:
        shutil.copy2(source, site)


def _compile(base: Path) -> None:
    """Compile to bytecode alone, in a process whose dice fall the same way every time."""
    program = (
        "import compileall, sys, py_compile\n"
        "done = compileall.compile_dir(sys.argv[1], quiet=1, legacy=True, optimize=2, force=True,"
        " stripdir=sys.argv[1], invalidation_mode=py_compile.PycInvalidationMode.UNCHECKED_HASH)\n"
        "sys.exit(not done)"
    )
    subprocess.run(
        [sys.executable, "-c", program, str(base)],
        env={**os.environ, "PYTHONHASHSEED": "0"},
        check=True,
    )
    for source in base.rglob("*.py"):
        source.unlink()


def _resources(folder: Path, version: str, base: Path) -> dict[str, bytes]:
    """Return the compiled manifest, texts and pictures."""
    values, pictures = folder / "values", folder / "drawable"
    values.mkdir(parents=True)
    pictures.mkdir()
    icon = ROOT / "phone" / "icon.png"
    shutil.copy2(icon, pictures / "icon.png")
    shutil.copy2(icon, pictures / "presplash.png")
    (values / "strings.xml").write_text(
        '<?xml version="1.0" encoding="utf-8"?>\n<resources>\n'
        '<string name="app_name">Walesong (trial)</string>\n'
        f'<string name="private_version">{version}</string>\n'
        '<string name="presplash_color">#FAF4E8</string>\n</resources>\n',
        encoding="utf-8",
    )
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    manifest = (ROOT / "phone" / "AndroidManifest.xml").read_text(encoding="utf-8")
    written = folder.parent / "AndroidManifest.xml"
    written.write_text(manifest.replace("VERSION", project["version"]), encoding="utf-8")
    _run("aapt", "package", "-f", "-M", str(written), "-S", str(folder), "-I", str(FRAMEWORK),
         "-F", str(base))  # fmt: skip
    with zipfile.ZipFile(base) as made:
        return {name: made.read(name) for name in made.namelist()}


def _key(store: Path) -> Path:
    """Return the key that signs, made once for this user: an update has to have the same."""
    if not store.is_file():
        store.parent.mkdir(parents=True, exist_ok=True)
        _run("keytool", "-genkeypair", "-keystore", str(store), "-storepass", "walesong",
             "-alias", "trial", "-keyalg", "RSA", "-keysize", "3072", "-validity", "10000",
             "-dname", "CN=Walesong trial")  # fmt: skip
    return store


def _run(*command: str) -> None:
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode != 0:
        raise Trouble(f"{command[0]}: {(done.stderr or done.stdout).strip()}")


if __name__ == "__main__":
    sys.exit(main())
