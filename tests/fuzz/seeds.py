"""Writes the first inputs of each fuzz target into tests/fuzz/corpus: what the corpus and the tests have.

Python 3.11, standard library only. Run by `tests/fuzz/run`.
"""

import pathlib
import random
import struct

HERE = pathlib.Path(__file__).resolve().parent
CORPUS = HERE.parent.parent / "corpus"
RECOVERY = HERE.parent.parent / "server" / "syntax" / "tests" / "recovery"
FOUND = HERE / "found"

# Pieces of markup for the edits.
PIECES = ["<", ">", "/", "=", '"', "'", "&", "\n", "\r", "</", "/>", "<!--", "-->", "<![CDATA[", "]]>", "<?", "?>", "a", " x='1'", "\n  <a>", "</a>"]


def documents():
    """Every XML document of the project's own, with a name."""
    for folder in (CORPUS, RECOVERY):
        for path in sorted(folder.rglob("*")):
            if path.suffix in (".xml", ".card", ".lst") and path.stat().st_size < 20_000:
                yield "-".join(path.relative_to(folder).parts), path.read_bytes()


def write(target, name, data):
    folder = HERE / "corpus" / target
    folder.mkdir(parents=True, exist_ok=True)
    (folder / name).write_bytes(data)


def edits(rng, count):
    data = b""
    for _ in range(count):
        data += struct.pack("<HH", rng.randrange(5000), rng.randrange(40)) + rng.choice(PIECES).encode() + b"\0"
    return data


def session(rng, which, text):
    """Opens a document, then changes it and asks about it, in the shape that targets/server.rs reads."""
    data = bytes([rng.choice([0, 1, 2, 0x80, 0x81, 0x82])])
    data += bytes([0x30, which]) + text + b"\0"
    for _ in range(12):
        line, column = rng.randrange(50), rng.randrange(60)
        data += bytes([2, which, line, column, 0, rng.randrange(4)]) + rng.choice(PIECES).encode() + b"\0"
        data += bytes([8, which + 8 * rng.randrange(9), line, column])
        data += bytes([10, which + 8 * rng.randrange(4)])
        if rng.randrange(4) == 0:
            data += bytes([11, which, line, column, line + 1, column])
    return data


def main():
    rng = random.Random(1)
    for name, data in documents():
        write("parse", name, data)
        if b"\0" not in data:
            write("edit", name, data + b"\0" + edits(rng, 8))
            if len(data) < 8000:
                write("server", name, session(rng, {".card": 3}.get(name[-5:], int("rig.xml" in name)), data))
        write("scene", name, data)
    for path in sorted(CORPUS.rglob("*")):
        if path.suffix in (".gltf", ".glb"):
            write("scene", path.name, path.read_bytes())
        if path.name.endswith(".dialect.toml"):
            write("dialect", path.name, path.read_bytes())
    house = HERE.parent.parent / "server" / "dialect" / "src" / "house.dialect.toml"
    write("dialect", house.name, house.read_bytes())
    for case in sorted(FOUND.glob("*/*")):
        write(case.parent.name, f"found-{case.name}", case.read_bytes())


if __name__ == "__main__":
    main()
