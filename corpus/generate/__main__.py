"""Make the corpus's scenes, or check that what is committed is right.

    python3 corpus/generate            write the scene files
    python3 corpus/generate --check    compare them, byte for byte, and check definitions, faults and
                                       sounds; ends with 1 if anything is wrong
"""

from __future__ import annotations

import sys
from pathlib import Path

import definitions
import faults
import gltf
import scenes
import sounds
import tidework

CORPUS = Path(__file__).resolve().parent.parent


REEL = "ternholt/machines/sounds"


def library() -> dict[str, bytes]:
    """The library's files; its recordings are all the shortest of the demo's."""
    reel = min((CORPUS / REEL).glob("*.ogg"), key=lambda file: (file.stat().st_size, file.name))
    return tidework.files(reel.read_bytes())


def write() -> int:
    for file, content in library().items():
        (CORPUS / file).parent.mkdir(parents=True, exist_ok=True)
        (CORPUS / file).write_bytes(content)
    for file, make in scenes.FILES.items():
        (CORPUS / file).parent.mkdir(parents=True, exist_ok=True)
        (CORPUS / file).write_bytes(gltf.encode(make()))
        print(f"wrote {file}")
    return 0


def check() -> int:
    problems: list[str] = []
    for file, make in scenes.FILES.items():
        path = CORPUS / file
        scene = make()
        if not path.is_file():
            problems.append(f"{path}: missing; run python3 corpus/generate")
        elif path.read_bytes() != gltf.encode(scene):
            problems.append(f"{path}: differs from what the generator makes; run python3 corpus/generate")
        definition = path.with_suffix(".machine.xml")
        if definition.is_file():
            problems += definitions.problems(definition, scene)
    for file, content in library().items():
        if not (CORPUS / file).is_file() or (CORPUS / file).read_bytes() != content:
            problems.append(f"{CORPUS / file}: differs from what the generator makes; run python3 corpus/generate")
    expectations = list(CORPUS.rglob("*.expected.json"))
    problems += faults.problems(CORPUS / "faults")
    oggs = sorted(CORPUS.rglob("*.ogg"))
    for ogg in oggs:
        problems += sounds.problems(ogg)
    for problem in problems:
        print(problem, file=sys.stderr)
    if not problems:
        print(f"{len(scenes.FILES)} scenes, {len(expectations)} expectations and {len(oggs)} sounds are as they should be")
    return 1 if problems else 0


if __name__ == "__main__":
    match sys.argv[1:]:
        case []:
            sys.exit(write())
        case ["--check"]:
            sys.exit(check())
        case _:
            sys.exit(__doc__)
