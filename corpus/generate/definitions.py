"""Check the demo's definitions against its scenes, with an XML parser and a scene model that are not the project's.

Every node a definition names must be in its scene, every channel that starts an animation must start where the
node rests, and every sound and scene file must be there. What is checked is true for the demo, not for all machines:
a machine may well start an animation away from its rest.
"""

from __future__ import annotations

import math
import xml.etree.ElementTree as ElementTree
from pathlib import Path

from gltf import Node, Scene

SPACE = "{urn:trunnion:machine:1}"
NODE_ATTRIBUTES = {"alias": "path", "body": "node", "wheel": "node", "coupling": "node", "lamp": "node", "channel": "target"}


def problems(definition: Path, scene: Scene) -> list[str]:
    """What is wrong with the definition at `definition`; empty if nothing is."""
    root = ElementTree.parse(definition).getroot()
    aliases = {alias.get("name"): alias.get("path") for alias in root.iter(SPACE + "alias")}
    found: list[str] = []

    def node_of(reference: str) -> Node | None:
        try:
            return _walk(scene, aliases.get(reference, reference))
        except (IndexError, ValueError):
            found.append(f"{definition}: {reference} is no node of {scene.name}")
            return None

    for element in root.iter():
        attribute = NODE_ATTRIBUTES.get(element.tag.removeprefix(SPACE))
        if attribute:
            node_of(element.get(attribute))
    for file in [root.get("scene"), *(sound.get("file") for sound in root.iter(SPACE + "sound"))]:
        if not (definition.parent / file).is_file():
            found.append(f"{definition}: {file} is not there")
    for animation in root.iter(SPACE + "animation"):
        started = set()
        for channel in sorted(animation, key=lambda channel: float(channel.get("begin"))):
            part = (channel.get("target"), channel.get("property"))
            node = node_of(channel.get("target"))
            if part not in started and node is not None and not _rests_at(node, part[1], channel.get("from")):
                found.append(f"{definition}: {part[1]} of {part[0]} starts at {channel.get('from')}, not where it rests")
            started.add(part)
    return found


def _walk(scene: Scene, path: str) -> Node:
    first, *rest = (int(step) for step in path.split("/"))
    node = scene.roots[first]
    for step in rest:
        node = node.children[step]
    return node


def _rests_at(node: Node, name: str, value: str) -> bool:
    if name == "visibility":
        return node.visible == (value == "true")
    nothing = (1, 1, 1) if name == "scale" else (0, 0, 0)
    rest = getattr(node, name) or nothing
    return all(math.isclose(ours, float(theirs), abs_tol=1e-9) for ours, theirs in zip(rest, value.split(), strict=True))
