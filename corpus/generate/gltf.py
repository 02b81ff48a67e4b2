"""Write small glTF 2.0 scenes: named nodes, rest transforms, boxes as meshes.

Standard library only. The same scene gives the same bytes on every machine: numbers are rounded to nine
places before they are written, and 32-bit floats are packed little-endian as glTF 2.0 (section 3.6) wants.
"""

from __future__ import annotations

import base64
import json
import math
import struct
from dataclasses import dataclass, field

FLOAT = 5126
UNSIGNED_SHORT = 5123
ARRAY_BUFFER = 34962
ELEMENT_ARRAY_BUFFER = 34963

Vector = tuple[float, float, float]

# Corners are numbered by bits: 1 = +x, 2 = +y, 4 = +z. Two triangles a side, counter-clockwise seen from outside.
BOX_INDICES = [
    1, 3, 7, 1, 7, 5,
    0, 4, 6, 0, 6, 2,
    2, 6, 7, 2, 7, 3,
    0, 1, 5, 0, 5, 4,
    4, 5, 7, 4, 7, 6,
    0, 2, 3, 0, 3, 1,
]


@dataclass
class Box:
    """A box in the node's own space: full edge lengths and centre, in metres."""

    size: Vector
    centre: Vector = (0.0, 0.0, 0.0)


@dataclass
class Node:
    """One node at rest. `rotation` is Euler XYZ (intrinsic) in degrees, as the house dialect writes it."""

    name: str
    translation: Vector | None = None
    rotation: Vector | None = None
    scale: Vector | None = None
    box: Box | None = None
    visible: bool = True
    children: list[Node] = field(default_factory=list)


@dataclass
class Scene:
    """A scene file. `children_first` stores nodes in the order some exporters use, so that a node's place in
    the file says nothing about its place in the tree. `layout` is "row" (one node a line), "tree" (indented
    throughout) or "binary" (GLB)."""

    name: str
    roots: list[Node]
    layout: str = "row"
    children_first: bool = False


def quaternion(degrees: Vector) -> list[float]:
    """Unit quaternion x, y, z, w of intrinsic Euler XYZ angles in degrees."""
    x, y, z = (math.radians(angle) / 2 for angle in degrees)
    turn = (math.sin(x), 0.0, 0.0, math.cos(x))
    for step in ((0.0, math.sin(y), 0.0, math.cos(y)), (0.0, 0.0, math.sin(z), math.cos(z))):
        turn = _product(turn, step)
    return [_tidy(part) for part in turn]


def encode(scene: Scene) -> bytes:
    """The bytes of the scene's file."""
    document, binary = _document(scene)
    if scene.layout == "binary":
        return _glb(document, binary)
    document["buffers"][0]["uri"] = "data:application/octet-stream;base64," + base64.b64encode(binary).decode("ascii")
    if scene.layout == "tree":
        return (json.dumps(document, indent="\t") + "\n").encode("utf-8")
    return _rows(document).encode("utf-8")


def _product(p: tuple[float, ...], q: tuple[float, ...]) -> tuple[float, ...]:
    px, py, pz, pw = p
    qx, qy, qz, qw = q
    return (
        pw * qx + px * qw + py * qz - pz * qy,
        pw * qy - px * qz + py * qw + pz * qx,
        pw * qz + px * qy - py * qx + pz * qw,
        pw * qw - px * qx - py * qy - pz * qz,
    )


def _tidy(number: float) -> float | int:
    rounded = round(number, 9)
    return int(rounded) if rounded == int(rounded) else rounded


def _document(scene: Scene) -> tuple[dict, bytes]:
    order = list(_in_file_order(scene))
    position = {id(node): index for index, node in enumerate(order)}
    meshes, accessors, views, binary = _meshes(order)
    mesh_of = {id(node): mesh for mesh, node in enumerate(node for node in order if node.box)}

    document: dict = {"asset": {"version": "2.0", "generator": "Ternholt scene generator"}}
    if any(not node.visible for node in order):
        document["extensionsUsed"] = ["KHR_node_visibility"]
    document["scene"] = 0
    document["scenes"] = [{"name": scene.name, "nodes": [position[id(root)] for root in scene.roots]}]
    document["nodes"] = [_node(node, position, mesh_of) for node in order]
    document["meshes"] = meshes
    document["accessors"] = accessors
    document["bufferViews"] = views
    document["buffers"] = [{"byteLength": len(binary)}]
    return document, binary


def _in_file_order(scene: Scene):
    def below(node: Node):
        if not scene.children_first:
            yield node
        for child in node.children:
            yield from below(child)
        if scene.children_first:
            yield node

    for root in scene.roots:
        yield from below(root)


def _node(node: Node, position: dict[int, int], mesh_of: dict[int, int]) -> dict:
    record: dict = {"name": node.name}
    if node.translation is not None:
        record["translation"] = [_tidy(part) for part in node.translation]
    if node.rotation is not None:
        record["rotation"] = quaternion(node.rotation)
    if node.scale is not None:
        record["scale"] = [_tidy(part) for part in node.scale]
    if node.box is not None:
        record["mesh"] = mesh_of[id(node)]
    if node.children:
        record["children"] = [position[id(child)] for child in node.children]
    if not node.visible:
        record["extensions"] = {"KHR_node_visibility": {"visible": False}}
    return record


def _meshes(order: list[Node]) -> tuple[list[dict], list[dict], list[dict], bytes]:
    """One mesh a boxed node; equal boxes share their corners, all boxes share their triangles."""
    corners: dict[tuple, int] = {}
    positions = b""
    accessors: list[dict] = [
        {"bufferView": 0, "componentType": UNSIGNED_SHORT, "count": len(BOX_INDICES), "type": "SCALAR"}
    ]
    meshes: list[dict] = []
    for node in order:
        if node.box is None:
            continue
        key = (node.box.size, node.box.centre)
        if key not in corners:
            corners[key] = len(accessors)
            packed = _corners(node.box)
            values = struct.unpack("<24f", packed)
            accessors.append(
                {
                    "bufferView": 1,
                    "byteOffset": len(positions),
                    "componentType": FLOAT,
                    "count": 8,
                    "type": "VEC3",
                    "min": [min(values[axis::3]) for axis in range(3)],
                    "max": [max(values[axis::3]) for axis in range(3)],
                }
            )
            positions += packed
        meshes.append({"name": node.name, "primitives": [{"attributes": {"POSITION": corners[key]}, "indices": 0}]})
    indices = struct.pack(f"<{len(BOX_INDICES)}H", *BOX_INDICES)
    views = [
        {"buffer": 0, "byteLength": len(indices), "target": ELEMENT_ARRAY_BUFFER},
        {
            "buffer": 0,
            "byteOffset": len(indices),
            "byteLength": len(positions),
            "byteStride": 12,
            "target": ARRAY_BUFFER,
        },
    ]
    return meshes, accessors, views, indices + positions


def _corners(box: Box) -> bytes:
    packed = b""
    for corner in range(8):
        for axis in range(3):
            side = 1 if corner >> axis & 1 else -1
            packed += struct.pack("<f", round(box.centre[axis] + side * box.size[axis] / 2, 9))
    return packed


def _rows(document: dict) -> str:
    """JSON with one node, mesh, accessor … a line: what a person can read and a diff can show."""
    parts = []
    for key, value in document.items():
        if isinstance(value, list) and value and isinstance(value[0], dict):
            rows = ",\n".join("    " + json.dumps(row) for row in value)
            parts.append(f"  {json.dumps(key)}: [\n{rows}\n  ]")
        else:
            parts.append(f"  {json.dumps(key)}: {json.dumps(value)}")
    return "{\n" + ",\n".join(parts) + "\n}\n"


def _glb(document: dict, binary: bytes) -> bytes:
    text = json.dumps(document, separators=(",", ":")).encode("utf-8")
    text += b" " * (-len(text) % 4)
    binary += b"\0" * (-len(binary) % 4)
    length = 12 + 8 + len(text) + 8 + len(binary)
    return (
        struct.pack("<4sII", b"glTF", 2, length)
        + struct.pack("<I4s", len(text), b"JSON")
        + text
        + struct.pack("<I4s", len(binary), b"BIN\0")
        + binary
    )
