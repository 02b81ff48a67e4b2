"""Where the nodes of machines stand, worked out with scipy and trimesh from the definition and the scene themselves.

Takes a JSON list of {"file", "times": [[[animation, seconds], …], …]} on standard input: definitions in the house dialect,
each with the moments at which to look; several animations at one moment run together, the later one of the list counts.
Writes for each file {"poses": [{"world": [4 rows of 4 numbers, for each node], "box": [min, max]}]}: nodes in document
order, the box around all shown meshes (around the moved corners of each mesh's own box).
"""

import json
import sys
import xml.etree.ElementTree as ElementTree
from pathlib import Path

import numpy
from scipy.spatial.transform import Rotation
from trimesh.bounds import corners
from trimesh.transformations import compose_matrix, scale_and_translate, transform_points

HOUSE = "{urn:trunnion:machine:1}"


def gltf(path: Path) -> dict:
    data = path.read_bytes()
    if data[:4] == b"glTF":
        data = data[20 : 20 + int.from_bytes(data[12:16], "little")]
    return json.loads(data)


def nodes_of(document: dict) -> list[dict]:
    """Parents before children, in document order, each with its index path."""
    found: list[dict] = []

    def walk(index: int, parent: int | None, path: str) -> None:
        node = document["nodes"][index]
        here = len(found)
        found.append({"node": node, "parent": parent, "path": path})
        for at, child in enumerate(node.get("children", [])):
            walk(child, here, f"{path}/{at}")

    roots = document["scenes"][document.get("scene", 0)]["nodes"]
    for at, root in enumerate(roots):
        walk(root, None, str(at))
    return found


def box_of(document: dict, node: dict) -> numpy.ndarray | None:
    if "mesh" not in node:
        return None
    accessors = [
        document["accessors"][primitive["attributes"]["POSITION"]]
        for primitive in document["meshes"][node["mesh"]]["primitives"]
    ]
    return numpy.array(
        [
            numpy.min([accessor["min"] for accessor in accessors], axis=0),
            numpy.max([accessor["max"] for accessor in accessors], axis=0),
        ]
    )


def at_rest(node: dict) -> bool:
    """Whether a node is shown when nothing says otherwise (glTF extension KHR_node_visibility)."""
    return node.get("extensions", {}).get("KHR_node_visibility", {}).get("visible", True)


def numbers(text: str) -> numpy.ndarray:
    return numpy.array([float(word) for word in text.split()])


def value_at(channel: dict, time: float):
    """What a channel says at a time, before its window and after it as well."""
    part = (time - float(channel["begin"])) / (float(channel["end"]) - float(channel["begin"]))
    part = min(max(part, 0.0), 1.0)
    easing = channel.get("easing", "linear")
    if easing == "smooth":
        part = 3 * part**2 - 2 * part**3
    if easing == "step" or channel["property"] == "visibility":
        part = 1.0 if part >= 1.0 else 0.0
    if channel["property"] == "visibility":
        return channel["to" if part == 1.0 else "from"] == "true"
    start, end = numbers(channel["from"]), numbers(channel["to"])
    return start + part * (end - start)


def local(node: dict, driven: dict) -> numpy.ndarray:
    if "matrix" in node and not driven:
        return numpy.array(node["matrix"]).reshape(4, 4).T
    place = driven.get("translation", numpy.array(node.get("translation", [0, 0, 0])))
    size = driven.get("scale", numpy.array(node.get("scale", [1, 1, 1])))
    if "rotation" in driven:
        turned = Rotation.from_euler("XYZ", driven["rotation"], degrees=True)
    else:
        turned = Rotation.from_quat(node.get("rotation", [0, 0, 0, 1]))
    matrix = numpy.eye(4)
    matrix[:3, :3] = turned.as_matrix()
    # trimesh puts them together: translation · rotation · scale.
    return compose_matrix(translate=place) @ matrix @ scale_and_translate(scale=size)


class Machine:
    def __init__(self, file: Path):
        root = ElementTree.parse(file).getroot()
        self.scene = gltf(file.with_name(root.get("scene")))
        self.nodes = nodes_of(self.scene)
        aliases = {alias.get("name"): alias.get("path") for alias in root.iter(HOUSE + "alias")}
        self.animations = {
            animation.get("id"): [
                dict(channel.attrib, path=aliases.get(channel.get("target"), channel.get("target")))
                for channel in animation.iter(HOUSE + "channel")
            ]
            for animation in root.iter(HOUSE + "animation")
        }

    def driven(self, moment: list) -> dict:
        """By index path and property: what the channels say that count at this moment."""
        said: dict = {}
        for animation, time in moment:
            by_place: dict = {}
            for channel in self.animations[animation]:
                by_place.setdefault((channel["path"], channel["property"]), []).append(channel)
            for (path, prop), channels in by_place.items():
                channels.sort(key=lambda channel: float(channel["begin"]))
                begun = [channel for channel in channels if float(channel["begin"]) <= time]
                counts = begun[-1] if begun else channels[0]
                said.setdefault(path, {})[prop] = value_at(counts, time)
        return said

    def pose(self, moment: list) -> dict:
        driven = self.driven(moment)
        world: list = []
        shown: list = []
        boxes: list = []
        for entry in self.nodes:
            said = dict(driven.get(entry["path"], {}))
            is_shown = said.pop("visibility", at_rest(entry["node"]))
            matrix = local(entry["node"], said)
            if entry["parent"] is not None:
                matrix = world[entry["parent"]] @ matrix
                is_shown = is_shown and shown[entry["parent"]]
            world.append(matrix)
            shown.append(is_shown)
            box = box_of(self.scene, entry["node"])
            if box is not None and is_shown:
                boxes.append(transform_points(corners(box), matrix))
        points = numpy.concatenate(boxes)
        return {
            "world": [matrix.tolist() for matrix in world],
            "box": [points.min(axis=0).tolist(), points.max(axis=0).tolist()],
        }


answers = []
for asked in json.load(sys.stdin):
    machine = Machine(Path(asked["file"]))
    answers.append({"poses": [machine.pose(moment) for moment in asked["times"]]})
json.dump(answers, sys.stdout)
