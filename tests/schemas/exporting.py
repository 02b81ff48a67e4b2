"""Exports the dialects of the corpus as schemas and has them judged."""

import pathlib
import shutil
import sys
import tempfile

import judging

CORPUS = pathlib.Path(__file__).parents[2] / "corpus"


def main():
    failures = []
    for name, dialect, mod, patterns in (
        ("house", "house", "ternholt", ("machines/*.machine.xml", "mod.xml")),
        ("yard", "yard.dialect.toml", "dialects/yard", ("rigs/*.rig.xml", "load.xml")),
        ("slip", "slip.dialect.toml", "dialects/slip", ("cards/*.card", "box.lst")),
    ):
        with tempfile.TemporaryDirectory() as folder:
            folder = pathlib.Path(folder)
            copy = folder / "mod"
            shutil.copytree(CORPUS / mod, copy)
            documents = sorted(path for pattern in patterns for path in copy.glob(pattern))
            file = dialect if dialect == "house" else copy / dialect
            failures += judging.judge(name, file, documents, folder, least=0.9)
    for failure in failures:
        print("FAILED:", failure)
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
