"""The scenes of the timber quay at Ternholt, and the rig that the fault files share.

Axes are glTF's: x to the left of a machine that looks along +z, y up, metres. Left and right parts mirror in x.
"""

from __future__ import annotations

from gltf import Box, Node, Scene, Vector


def wheel(name: str, place: Vector, radius: float, width: float) -> Node:
    return Node(name, translation=place, box=Box((width, 2 * radius, 2 * radius)))


def pair(name: str, place: Vector, make) -> list[Node]:
    """`name`.left at `place` and `name`.right mirrored in x; `make(full name, place, sign)` builds each."""
    x, y, z = place
    return [make(f"{name}.left", (x, y, z), 1), make(f"{name}.right", (-x, y, z), -1)]


def wheel_pair(name: str, place: Vector, radius: float, width: float) -> list[Node]:
    return pair(name, place, lambda full, where, _: wheel(full, where, radius, width))


def lamp_pair(name: str, place: Vector) -> list[Node]:
    return pair(name, place, lambda full, where, _: Node(full, translation=where, box=Box((0.18, 0.1, 0.06))))


def bram_6() -> Scene:
    """Straddle carrier: a frame on four wheels that drives over a stack and lifts it."""

    def leg(name: str, place: Vector, _: int) -> Node:
        side = name.removeprefix("leg.")
        return Node(
            name,
            translation=place,
            box=Box((0.3, 2.6, 4.4), (0, 2.1, 0)),
            children=[
                wheel(f"wheel.front.{side}", (0, 0.62, 1.9), 0.62, 0.35),
                wheel(f"wheel.rear.{side}", (0, 0.62, -1.9), 0.62, 0.35),
                Node(f"ladder.{side}", translation=(0, 1.2, -2.3), box=Box((0.4, 2.0, 0.08))),
            ],
        )

    def hook(name: str, place: Vector, sign: int) -> Node:
        return Node(name, translation=place, rotation=(0, 0, sign * 40), box=Box((0.12, 0.7, 0.5), (0, -0.35, 0)))

    mast = Node(
        "mast",
        translation=(0, 1.1, 0),
        box=Box((0.5, 3.2, 0.5), (0, 1.6, 0)),
        children=[
            Node(
                "spreader",
                translation=(0, 0.4, 0),
                box=Box((1.9, 0.25, 3.6)),
                children=pair("hook", (0.85, -0.1, 0), hook),
            )
        ],
    )
    root = Node(
        "bram-6",
        children=[
            Node("legs", children=pair("leg", (1.3, 0, 0), leg)),
            mast,
            Node("tow", translation=(0, 0.9, -2.6), box=Box((0.2, 0.2, 0.3))),
            Node(
                "beacon",
                translation=(0.6, 3.7, 1.8),
                box=Box((0.16, 0.2, 0.16), (0, 0.1, 0)),
                children=[Node("beacon.mirror", box=Box((0.1, 0.12, 0.02), (0, 0.1, 0.05)))],
            ),
            Node(
                "cab",
                translation=(0.55, 3.4, 2.1),
                box=Box((0.9, 1.4, 1.2), (0, -0.6, 0)),
                children=[Node("lamp.work", translation=(0, 0.15, 0.6), box=Box((0.3, 0.12, 0.1)))],
            ),
            Node("frame", translation=(0, 3.2, 0), box=Box((2.0, 0.35, 4.0))),
        ],
    )
    return Scene("bram-6", [root])


def ostrel_12() -> Scene:
    """Log loader on wheels: it stands on outriggers, slews, and grips logs with a pair of claws."""

    def outrigger(name: str, place: Vector, _: int) -> Node:
        side = name.removeprefix("outrigger.")
        pad = Node(f"pad.{side}", translation=(0, -0.25, 0), box=Box((0.45, 0.08, 0.45), (0, -0.3, 0)))
        return Node(name, translation=place, box=Box((0.5, 0.22, 0.3)), children=[pad])

    def claw(name: str, place: Vector, sign: int) -> Node:
        return Node(
            name, translation=place, rotation=(8, 0, sign * 35), box=Box((0.15, 0.9, 0.4), (sign * 0.2, -0.45, 0))
        )

    rotator = Node("rotator", translation=(0, -0.3, 1.7), box=Box((0.25, 0.4, 0.25)), children=pair("claw", (0.18, -0.25, 0), claw))
    stick = Node(
        "stick",
        translation=(0, 0, 2.8),
        rotation=(118, 0, 0),
        box=Box((0.24, 0.28, 1.9), (0, 0, 0.85)),
        children=[rotator],
    )
    boom = Node(
        "boom",
        translation=(0, 0.5, 0.4),
        rotation=(-62, 0, 0),
        box=Box((0.32, 0.4, 3.0), (0, 0, 1.4)),
        children=[stick],
    )
    cone = Node("lamp.work.cone", translation=(0, 0, 1.5), box=Box((1.2, 0.9, 3.0)), visible=False)
    cab = Node(
        "cab",
        translation=(0.75, 0.3, 0.3),
        box=Box((0.9, 1.5, 1.3), (0, 0.75, 0)),
        children=[Node("lamp.work", translation=(0, 1.55, 0.6), box=Box((0.3, 0.12, 0.1)), children=[cone])],
    )
    chassis = Node(
        "chassis",
        box=Box((1.9, 0.5, 4.6), (0, 0.95, 0)),
        children=[
            Node("axle.front", translation=(0, 0, 1.6), children=wheel_pair("wheel.front", (0.95, 0.55, 0), 0.55, 0.4)),
            Node("axle.rear", translation=(0, 0, -1.6), children=wheel_pair("wheel.rear", (0.95, 0.55, 0), 0.55, 0.4)),
            Node("outriggers", translation=(0, 0.9, 0), children=pair("outrigger", (0.8, 0, 0), outrigger)),
            Node("hitch", translation=(0, 0.6, -2.35), box=Box((0.15, 0.15, 0.2))),
            *lamp_pair("lamp.tail", (0.8, 0.95, -2.33)),
        ],
    )
    slew = Node("slew", translation=(0, 1.3, -0.5), box=Box((1.8, 0.4, 2.2), (0, 0.1, 0)), children=[cab, boom])
    return Scene("ostrel-12", [Node("ostrel-12", children=[chassis, slew])])


def vennet_24() -> Scene:
    """Timber trailer: stanchions hold the logs, the bogie slides back for long ones."""

    def stanchion(name: str, place: Vector, _: int) -> Node:
        return Node(name, translation=place, box=Box((0.1, 1.7, 0.14), (0, 0.85, 0)))

    frame = Node(
        "frame",
        translation=(0, 0.2, 0),
        box=Box((0.5, 0.3, 6.8), (0, 0.7, 0)),
        children=[
            Node(
                "drawbar",
                translation=(0, 0.5, 3.4),
                box=Box((0.16, 0.16, 1.5), (0, 0, 0.75)),
                children=[Node("eye", translation=(0, 0, 1.55), box=Box((0.14, 0.06, 0.14)))],
            ),
            Node(
                "stanchions",
                translation=(0, 0.9, 0),
                children=[
                    *pair("stanchion.front", (1.05, 0, 1.8), stanchion),
                    *pair("stanchion.rear", (1.05, 0, -0.6), stanchion),
                ],
            ),
            Node("tarp", translation=(0, 2.6, 2.2), scale=(1, 1, 0.2), box=Box((2.0, 0.05, 4.0), (0, 0, -2.0))),
        ],
    )
    bogie = Node(
        "bogie",
        translation=(0, 0, -1.4),
        box=Box((0.9, 0.3, 2.4), (0, 0.65, 0)),
        children=[
            Node("axle.front", translation=(0, 0, 0.7), children=wheel_pair("wheel.front", (0.9, 0.5, 0), 0.5, 0.3)),
            Node("axle.rear", translation=(0, 0, -0.7), children=wheel_pair("wheel.rear", (0.9, 0.5, 0), 0.5, 0.3)),
            Node(
                "lamps",
                translation=(0, 0.9, -1.5),
                children=[*lamp_pair("lamp.tail", (0.9, 0, 0)), *lamp_pair("lamp.turn", (0.65, 0, 0))],
            ),
            Node("long.load.board", translation=(0, 1.2, -1.55), box=Box((1.4, 0.3, 0.03)), visible=False),
        ],
    )
    return Scene("vennet-24", [Node("vennet-24", children=[frame, bogie])], layout="tree", children_first=True)


def quarl_30() -> Scene:
    """Low-loader: two ramps fold down at the tail. The scene has a second root that marks where a load stands."""

    def ramp(name: str, place: Vector, _: int) -> Node:
        side = name.removeprefix("ramp.")
        flap = Node(f"flap.{side}", translation=(0, 0, -2.2), rotation=(15, 0, 0), box=Box((0.7, 0.06, 0.5), (0, 0, -0.25)))
        return Node(name, translation=place, rotation=(80, 0, 0), box=Box((0.7, 0.1, 2.2), (0, 0, -1.1)), children=[flap])

    def board(name: str, place: Vector, _: int) -> Node:
        return Node(name, translation=place, box=Box((0.4, 0.4, 0.03)), visible=False)

    axles = [
        Node(f"axle.{number}", translation=(0, 0, z), children=wheel_pair(f"wheel.{number}", (1.0, 0.42, 0), 0.42, 0.3))
        for number, z in ((1, -1.6), (2, -2.6), (3, -3.6))
    ]
    gooseneck = Node(
        "gooseneck",
        translation=(0, 1.1, 3.6),
        box=Box((0.8, 0.4, 1.8), (0, 0.1, 0.9)),
        children=[Node("kingpin", translation=(0, -0.15, 1.5), box=Box((0.09, 0.2, 0.09)))],
    )
    deck = Node("deck", translation=(0, 0.8, 0), box=Box((2.5, 0.2, 8.0)), children=pair("board", (1.2, 0.3, -4.0), board))
    root = Node(
        "quarl-30",
        children=[
            gooseneck,
            deck,
            Node("ramps", translation=(0, 0.85, -4.1), children=pair("ramp", (0.7, 0, 0), ramp)),
            Node("axles", children=axles),
            Node("lamps", translation=(0, 0.7, -4.05), children=lamp_pair("lamp.tail", (1.1, 0, 0))),
        ],
    )
    load = Node("load", translation=(0, 0.9, 0.5), children=[Node("load.centre", translation=(0, 1.0, 0))])
    return Scene("quarl-30", [root, load], layout="binary")


def rig() -> Scene:
    """The smallest machine that can go wrong in every way: two arms on wheels, a mast with two hooks, a lamp."""

    def arm(name: str, place: Vector, _: int) -> Node:
        side = name.removeprefix("arm.")
        return Node(name, translation=place, box=Box((0.2, 1.0, 0.2), (0, 0.5, 0)), children=[wheel(f"wheel.{side}", (0, 0.5, 0), 0.5, 0.3)])

    def hook(name: str, place: Vector, _: int) -> Node:
        return Node(name, translation=place, box=Box((0.1, 0.4, 0.1), (0, -0.2, 0)))

    root = Node(
        "rig",
        children=[
            *pair("arm", (1, 0, 0), arm),
            Node("mast", translation=(0, 1, 0), box=Box((0.3, 2, 0.3), (0, 1, 0)), children=pair("hook", (0.3, 0, 0), hook)),
            Node("lamp", translation=(0, 3, 0), box=Box((0.2, 0.2, 0.2))),
        ],
    )
    return Scene("rig", [root])


# Where each scene is kept, below corpus/.
FILES = {
    "ternholt/machines/bram-6.gltf": bram_6,
    "ternholt/machines/ostrel-12.gltf": ostrel_12,
    "ternholt/machines/vennet-24.gltf": vennet_24,
    "ternholt/machines/quarl-30/quarl-30.glb": quarl_30,
    "faults/shared/rig.gltf": rig,
}
