"""Learns dialects from public descriptions of robots and scenes, and has their schemas judged.

What was learnt is only a hint for Trunnion, but the schema of it must accept every document that it was learnt from,
and reject those with injected faults. Arguments: NAME=FOLDER or NAME=FOLDER:PATTERN for each library.
"""

import pathlib
import shutil
import sys
import tempfile

import judging
import lxml.etree

LARGEST = 100_000  # bytes of a document that faults are injected into
# A schema asks for no more than all documents showed, a hint for what nearly all showed.
LEAST = 0.8
LEAST_OF_UNLIKE = 0.95


def readable(documents):
    """Those that are well-formed."""
    for document in documents:
        try:
            lxml.etree.parse(str(document))
        except lxml.etree.XMLSyntaxError:
            continue
        yield document


def main():
    failures = []
    for argument in sys.argv[1:]:
        name, _, source = argument.partition("=")
        source, _, pattern = source.partition(":")
        originals = [path for path in sorted(pathlib.Path(source).rglob(pattern or "*")) if path.is_file()]
        if not originals:
            print(f"SKIPPED: learning {name}, {source} is not there")
            continue
        with tempfile.TemporaryDirectory() as folder:
            folder = pathlib.Path(folder)
            library = folder / "library"
            library.mkdir()
            copies = []
            for number, original in enumerate(originals):
                copies.append(library / f"{number}{original.suffix}")
                shutil.copyfile(original, copies[-1])
            documents = list(readable(copies))
            dialect = library / "learnt.dialect.toml"
            done = judging.run("learn", library, "--output", dialect)
            if done.returncode:
                raise SystemExit(f"{name} could not be learnt: {done.stderr}")
            (library / "trunnion.toml").write_text('dialects = ["learnt.dialect.toml"]\n')
            small = [document for document in documents if document.stat().st_size < LARGEST]
            failures += judging.judge(name, dialect, documents, folder, LEAST, small, LEAST_OF_UNLIKE)
    for failure in failures:
        print("FAILED:", failure)
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
