"""The tide workers' library: machines from several mods, in a dialect that nobody has written down.

Every word, notation and unit differs from those of the other dialects in the corpus: millimetres with a decimal comma,
turns of a circle, minutes, index paths like `^1|3|2`. Trunnion has to learn it from these files. One machine is left
out of the library, to try on it what was learnt; one file is broken, one mod is an archive.
"""

from __future__ import annotations

import io
import random
import zipfile
from dataclasses import dataclass, field, replace

import gltf
from gltf import Box, Node, Scene, Vector

# Sort of motion, word, in the order in which gestures use them.
HEAVE, VEER, PEEP, BURGEON = "heave", "veer", "peep", "burgeon"

ANALOG = ["thole.a", "thole.b", "oar.port", "oar.starboard", "tiller"]
DIGITAL = ["bell.one", "bell.two", "cord.one", "cord.two", "hatch"]
TEMPERS = ["steady", "mellow", "mellow", "abrupt"]


@dataclass
class Stir:
    """One node, moved in a window of seconds between two values: metres, degrees, factors, or shown or not."""

    node: str
    manner: str
    dawn: float
    dusk: float
    whence: Vector | bool
    whither: Vector | bool
    temper: str | None = None


@dataclass
class Gesture:
    tag: str
    stirs: list[Stir]
    analog: bool
    grasp: str
    caption: str
    drags: list[str] = field(default_factory=list)
    din: str | None = None


@dataclass
class Contrivance:
    name: str
    title: str
    scene: Scene
    bynames: dict[str, str]
    trundles: list[tuple[str, str, float, float]]
    dins: dict[str, str]
    gestures: list[Gesture]


def walk(scene: Scene) -> dict[str, list[int]]:
    """Node names to zero-based child numbers."""
    paths: dict[str, list[int]] = {}

    def below(node: Node, path: list[int]) -> None:
        paths[node.name] = path
        for at, child in enumerate(node.children):
            below(child, [*path, at])

    for at, root in enumerate(scene.roots):
        below(root, [at])
    return paths


def nodes(scene: Scene) -> dict[str, Node]:
    found: dict[str, Node] = {}

    def below(node: Node) -> None:
        found[node.name] = node
        for child in node.children:
            below(child)

    for root in scene.roots:
        below(root)
    return found


def make(name: str, title: str, seed: int) -> Contrivance:
    """A machine on two or three axles, with side arms on some of its wheels, a mast, a jib that turns, a lid and a lamp."""
    chance = random.Random(seed)

    def about(least: float, greatest: float) -> float:
        return round(chance.uniform(least, greatest), 2)

    radius, width, half = about(0.35, 0.9), about(0.2, 0.5), about(0.8, 1.6)
    axles = chance.choice([2, 2, 3])
    trundles: list[tuple[str, str, float, float]] = []

    def wheel(tag: str, place: Vector) -> Node:
        trundles.append((tag, f"round {tag}", radius, width))
        return Node(f"round {tag}", translation=place, box=Box((width, 2 * radius, 2 * radius)))

    reach = about(1.0, 2.4)
    arms = []
    for side, sign in (("port", 1), ("starboard", -1)):
        below = [wheel(f"bow.{side}", (0.0, -0.3, reach)), wheel(f"stern.{side}", (0.0, -0.3, -reach))]
        arms.append(Node(f"arm {side}", translation=(sign * half, 0.9, 0.0), box=Box((0.3, 1.0, 2 * reach)), children=below))
    middle = []
    if axles == 3:
        for side, sign in (("port", 1), ("starboard", -1)):
            middle.append(wheel(f"waist.{side}", (sign * half, 0.6, about(-0.4, 0.4))))
    tilt = (round(chance.uniform(-40, -15)), 0.0, 0.0)
    lamp = Node("lamp", translation=(0.0, 0.3, 0.2), box=Box((0.2, 0.2, 0.1)), visible=False)
    jib = Node(
        "jib",
        translation=(0.0, about(0.8, 1.4), 0.3),
        rotation=tilt if seed % 3 else (tilt[0], 20.0, 10.0),
        box=Box((0.3, 0.3, 2.0), (0, 0, 1)),
        children=[Node("hook", translation=(0.0, -0.2, 2.0), box=Box((0.1, 0.4, 0.1))), lamp],
    )
    lid = Node("lid", translation=(0.0, 1.4, -0.8), rotation=(0.0, 0.0, 0.0), scale=(1.0, 1.0, 0.25), box=Box((1.0, 0.05, 1.0)))
    mast = Node("mast", translation=(0.0, about(1.0, 1.6), 0.4), box=Box((0.3, 2.0, 0.3)), children=[jib])
    skids = Node("skids", children=[Node(f"skid {side}", translation=(sign * 0.4, 0.4, -1.2), box=Box((0.1, 0.6, 0.2))) for side, sign in (("port", 1), ("starboard", -1))])
    hull = Node("hull", box=Box((1.6, 0.5, 4.0), (0, 0.9, 0)), children=[*arms, mast, lid, skids, *middle])
    roots = [Node("yard light", translation=(0.0, 9.0, 0.0)), hull] if seed % 4 == 0 else [hull]
    scene = Scene(name, roots)
    there = nodes(scene)

    def at(node: str) -> Vector:
        return there[node].translation or (0.0, 0.0, 0.0)

    def shifted(node: str, by: Vector) -> Vector:
        return tuple(round(a + b, 3) for a, b in zip(at(node), by))

    def turned(node: str) -> Vector:
        return there[node].rotation or (0.0, 0.0, 0.0)

    temper = lambda: chance.choice([None, None, *TEMPERS])
    spread, rise, drop = about(0.2, 0.5), about(0.6, 2.0), about(0.1, 0.3)
    every = [tag for tag, *_ in trundles]
    below_arms = [tag for tag in every if not tag.startswith("waist")]
    word = lambda *words: chance.choice(words)
    reels = {word("pump", "bellows", "wheeze"): "pump.ogg", word("creak", "groan", "squeal"): "creak.ogg"}
    pump, creak = reels
    unfold = Gesture(
        word("unfold", "make ready", "to work", "sprawl"),
        [
            Stir("arm port", HEAVE, 0.0, 2.0, at("arm port"), shifted("arm port", (spread, 0, 0)), temper()),
            Stir("arm starboard", HEAVE, 0.0, 2.0, at("arm starboard"), shifted("arm starboard", (-spread, 0, 0)), temper()),
            Stir("skid port", HEAVE, 1.0, 2.5, at("skid port"), shifted("skid port", (0, -drop, 0)), "steady"),
            Stir("skid starboard", HEAVE, 1.0, 2.5, at("skid starboard"), shifted("skid starboard", (0, -drop, 0)), "steady"),
            Stir("jib", VEER, 2.0, 4.0, turned("jib"), (0.0, 0.0, 0.0), temper()),
            Stir("lamp", PEEP, 3.0, 3.6, False, True, "abrupt"),
        ],
        False,
        chance.choice(DIGITAL[:2]),
        "Unfold all",
        below_arms,
        pump,
    )
    lift = Gesture(word("hoist", "mast up", "rear", "reach up"), [Stir("mast", HEAVE, 0.0, 3.0, at("mast"), shifted("mast", (0, rise, 0)), temper())], True, chance.choice(ANALOG[:3]), "Hoist the mast", [], chance.choice([pump, None]))
    swing = Gesture(word("nod", "hook round", "twist", "wind"), [Stir("hook", VEER, 0.0, 1.5, (0.0, 0.0, 0.0), (0.0, float(chance.choice([45, 60, 90])), 0.0), temper())], True, chance.choice(ANALOG[3:]), "Turn the hook", [], None)
    cover = Gesture(word("cover", "lid", "shut", "thatch"), [Stir("lid", BURGEON, 0.0, 1.2, (1.0, 1.0, 0.25), (1.0, 1.0, 1.0), temper())], False, chance.choice(DIGITAL[2:]), "Cover", [], chance.choice([creak, None]))
    gestures = [unfold, lift, swing, cover]
    if seed % 3 == 1:
        apart, unfold.stirs, unfold.drags = unfold.stirs[:2], unfold.stirs[2:], []
        gestures.append(Gesture(word("widen", "stand wide", "straddle"), apart, True, "tiller", "Stand wider", below_arms, None))
        start = min(stir.dawn for stir in unfold.stirs)
        unfold.stirs = [replace(stir, dawn=stir.dawn - start, dusk=stir.dusk - start) for stir in unfold.stirs]
    if seed % 2:
        chance.shuffle(gestures)
    names = {"port arm": "arm port", "mast": "mast", "jib": "jib", "hook": "hook"}
    if seed % 3:
        names["starboard arm"] = "arm starboard"
    return Contrivance(name, title, scene, names, trundles, reels, gestures)


def number(value: float) -> str:
    text = f"{value:.6f}".rstrip("0").rstrip(".").replace(".", ",")
    return "0" if text in ("", "-0") else text


def vector(values) -> str:
    return "~".join(number(value) for value in values)


def value(stir: Stir, which: Vector | bool) -> str:
    match stir.manner:
        case "peep":
            return "abroad" if which else "stowed"
        case "heave":
            return vector(part * 1000 for part in which)
        case "veer":
            return vector(part / 360 for part in which)
    return vector(which)


def xml(machine: Contrivance) -> str:
    paths = walk(machine.scene)
    byname = {node: name for name, node in machine.bynames.items()}
    path = lambda node: "^" + "|".join(str(step + 1) for step in paths[node])
    whom = lambda node: byname.get(node, path(node))
    lines = ['<?xml version="1.0" encoding="UTF-8"?>', f'<contrivance title="{machine.title}" timbers="{machine.name}.gltf">', "  <bynames>"]
    lines += [f'    <byname says="{name}" lies="{path(node)}"/>' for name, node in machine.bynames.items()]
    lines += ["  </bynames>", "  <trundles>"]
    lines += [f'    <trundle tag="{tag}" sits="{whom(node)}" stout="{number(r * 1000)}" broad="{number(w * 1000)}"/>' for tag, node, r, w in machine.trundles]
    lines += ["  </trundles>", "  <dins>"]
    lines += [f'    <din tag="{tag}" reel="reels/{file}"/>' for tag, file in machine.dins.items()]
    lines += ["  </dins>", "  <gestures>"]
    for gesture in machine.gestures:
        last = max(stir.dusk for stir in gesture.stirs)
        lines.append(f'    <gesture tag="{gesture.tag}" spell="{number(last / 60)}">')
        for stir in gesture.stirs:
            temper = f' temper="{stir.temper}"' if stir.temper else ""
            lines.append(
                f'      <stir whom="{whom(stir.node)}" manner="{stir.manner}" dawn="{number(stir.dawn / 60)}" dusk="{number(stir.dusk / 60)}" '
                f'whence="{value(stir, stir.whence)}" whither="{value(stir, stir.whither)}"{temper}/>'
            )
        lines.append("    </gesture>")
    lines += ["  </gestures>", "  <reins>"]
    for gesture in machine.gestures:
        drags = f' drags="{", ".join(gesture.drags)}"' if gesture.drags else ""
        heed = ' heed="0,6"' if gesture.analog else ""
        name = "helm" if gesture.analog else "knock"
        head = f'    <{name} plays="{gesture.tag}" grasp="{gesture.grasp}"{heed} haste="1" caption="{gesture.caption}"{drags}'
        lines += [head + ">", f'      <hark din="{gesture.din}"/>', f"    </{name}>"] if gesture.din else [head + "/>"]
    lines += ["  </reins>", "</contrivance>", ""]
    return "\n".join(lines)


NAMES = ["sedge", "marl", "tarn", "fen", "weir", "sluice", "spate", "ebb", "skerry", "holm", "ness", "wrack", "bight", "shoal", "reach", "strand"]


def library() -> dict[str, list[Contrivance]]:
    """Mods with their machines."""
    mods: dict[str, list[Contrivance]] = {"weirfolk": [], "ebbside": [], "holmgang": [], "strandmen": []}
    for at, name in enumerate(NAMES):
        mod = list(mods)[at % len(mods)]
        mods[mod].append(make(f"{name}-{at + 2}", f"{name.title()} {at + 2}", at + 1))
    return mods


def unseen() -> Contrivance:
    """A machine that the library does not have."""
    return replace(make("grebe-7", "Grebe 7", 99))


def bundle(machines: list[Contrivance], title: str) -> str:
    rows = "".join(f'  <holds piece="{machine.name}.contrivance.xml"/>\n' for machine in machines)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n<bundle title="{title}">\n{rows}</bundle>\n'


def files(reel: bytes) -> dict[str, bytes]:
    """All files, by their path below corpus/. `reel`: a recording."""
    made: dict[str, bytes] = {}

    def put(folder: str, machines: list[Contrivance], title: str) -> dict[str, bytes]:
        own: dict[str, bytes] = {f"{folder}bundle.xml": bundle(machines, title).encode()}
        for machine in machines:
            own[f"{folder}{machine.name}.contrivance.xml"] = xml(machine).encode()
            own[f"{folder}{machine.name}.gltf"] = gltf.encode(machine.scene)
            for file in machine.dins.values():
                own[f"{folder}reels/{file}"] = reel
        return own

    for mod, machines in library().items():
        if mod != "strandmen":
            made.update(put(f"tidework/library/{mod}/", machines, mod.title()))
            continue
        buffer = io.BytesIO()
        with zipfile.ZipFile(buffer, "w", zipfile.ZIP_STORED) as archive:
            for name, content in put("", machines, mod.title()).items():
                archive.writestr(zipfile.ZipInfo(name), content)
        made[f"tidework/library/{mod}.zip"] = buffer.getvalue()
    broken = xml(make("silt-1", "Silt 1", 50))
    made["tidework/library/ebbside/silt-1.contrivance.xml"] = broken[: len(broken) * 2 // 3].encode()
    made.update(put("tidework/unseen/", [unseen()], "Unseen"))
    return made
