// The picture: every drawn node at the place that the server says. Nothing is calculated here but colours.

import {
    AmbientLight, Box3, BoxGeometry, Color, CylinderGeometry, DirectionalLight, DoubleSide, EdgesGeometry, Group,
    LineBasicMaterial, LineDashedMaterial, LineSegments, Matrix4, Mesh, MeshLambertMaterial, Scene, Sphere, Vector3,
} from "three";
import { View } from "./camera.js";
import { Canvases } from "./canvases.js";
import { openMeshes } from "./meshes.js";

/** So many names can be read in a picture. */
const MOST_LABELS = 40;
/** Where changes are drawn coarsely: so many milliseconds after the last change the picture is drawn sharply. */
const SHARPEN_AFTER = 200;
/** Triangles; what goes beyond stays a box. */
const MOST_TRIANGLES = 5_000_000;

export class Picture {
    #stage;
    #labels = document.getElementById("labels");
    #names = document.getElementById("names");
    #canvases = null; // without 3D, numbers and problems are still worth showing
    #scene = new Scene();
    #machine = new Group();
    #view;
    #nodes = new Map(); // node → { group, rest, visible, moves }
    #shown = []; // labels: { span, node }
    #facts = null;
    #meshesOf = null; // of which file the meshes are shown
    #loading = 0;
    #waiting = false;
    #shape = null; // of the machine that is shown, as text
    #sharpening = null; // a timer

    constructor(stage) {
        this.#stage = stage;
        try {
            this.#canvases = new Canvases(document.getElementById("canvas"));
        } catch {
            // The first machine that is shown has this told.
        }
        const above = new DirectionalLight(0xffffff, 1.6);
        this.#light = above;
        this.#scene.add(new AmbientLight(0xffffff, 1.6), above, this.#machine);
        this.#view = new View(stage, () => this.draw());
        this.#names.addEventListener("change", () => this.draw());
        matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.#colour());
        new ResizeObserver(() => this.#resize()).observe(stage);
        this.#colour();
    }
    #light;
    #materials;

    /** Takes up a machine, which is drawn with the pose that follows. `trouble` is told, in a sentence, what could not be drawn. */
    show(machine, trouble) {
        const first = this.#facts === null;
        // Mostly an edit changes motions and numbers, and nothing that has to be made anew.
        const shape = shapeOf(machine);
        if (shape === this.#shape) {
            this.#facts = machine;
            return;
        }
        this.#shape = shape;
        const known = this.#nodes;
        this.#facts = machine;
        this.#nodes = new Map();
        const meshesStay = machine.meshes !== null && machine.meshes === this.#meshesOf;
        this.#machine.clear();
        const moves = movedBy(machine.animations.flatMap((animation) => animation.moved));
        const wheels = new Map(machine.wheels.map((wheel) => [wheel.node, wheel]));
        for (const drawn of machine.drawn) {
            const group = new Group();
            group.matrixAutoUpdate = false;
            const entry = { group, drawn, rest: new Matrix4().fromArray(drawn.matrix), moves: moves(drawn.node), solid: null };
            const kept = meshesStay ? known.get(drawn.node)?.geometries : undefined;
            if (kept) this.#fill(entry, kept);
            else if (drawn.bounds) this.#fill(entry, [boxOf(drawn.bounds)], true);
            if (entry.moves && drawn.bounds) group.add(this.#outline(drawn.bounds));
            this.#machine.add(group);
            this.#nodes.set(drawn.node, entry);
        }
        this.#addWheels(wheels, machine);
        this.#addLabels(machine);
        for (const { group, rest } of this.#nodes.values()) group.matrix.copy(rest);
        this.#frame(first);
        if (!meshesStay) this.#load(machine, trouble);
        if (!this.#canvases) trouble("This browser draws no 3D (WebGL is off): the numbers are right all the same.");
    }

    /** Puts the nodes that do not rest where they are. */
    pose(moved) {
        const places = new Map(moved.map((it) => [it.node, it]));
        for (const [node, { group, rest, drawn }] of this.#nodes) {
            const place = places.get(node);
            if (place) group.matrix.fromArray(place.matrix);
            else group.matrix.copy(rest);
            group.visible = (place ?? drawn).visible && group.matrix.elements.every(Number.isFinite);
            group.matrixWorldNeedsUpdate = true;
        }
        this.draw();
    }

    /** Marks what one animation moves; null: what any of them does. Seen once it is drawn. */
    highlight(moved) {
        const all = this.#facts.animations.flatMap((animation) => animation.moved);
        const moves = movedBy(moved ?? all);
        for (const [node, entry] of this.#nodes) {
            entry.moves = moves(node);
            entry.group.traverse((object) => {
                if (object.userData.outline) object.visible = entry.moves;
                if (object.userData.solid) object.material = this.#materialOf(entry);
            });
        }
    }

    #materialOf({ moves }) {
        return moves ? this.#materials.moved : this.#materials.still;
    }

    #fill(entry, geometries, isBox = false) {
        for (const old of entry.group.children.filter((it) => it.userData.solid)) entry.group.remove(old);
        for (const geometry of geometries) {
            const mesh = new Mesh(geometry, this.#materialOf(entry));
            mesh.userData.solid = true;
            entry.group.add(mesh);
        }
        if (!isBox) entry.geometries = geometries;
    }

    #outline(bounds) {
        const line = new LineSegments(new EdgesGeometry(boxOf(bounds)), this.#materials.outline);
        line.computeLineDistances();
        line.userData.outline = true;
        return line;
    }

    #addWheels(wheels, { right }) {
        const axle = new Vector3(...right);
        for (const { node, radius, width } of wheels.values()) {
            const entry = this.#nodes.get(node);
            if (!entry || !(radius > 0)) continue;
            // A cylinder across the machine, as the wheel stands at rest; it goes where its node goes.
            const rim = new CylinderGeometry(radius, radius, width > 0 ? width : radius / 2, 16);
            const lines = new LineSegments(new EdgesGeometry(rim, 1), this.#materials.wheel);
            lines.renderOrder = 1;
            const turned = new Matrix4().copy(entry.rest).setPosition(0, 0, 0).invert();
            if (!turned.elements.every(Number.isFinite)) continue;
            lines.quaternion.setFromUnitVectors(new Vector3(0, 1, 0), axle);
            lines.updateMatrix();
            lines.matrix.premultiply(turned);
            lines.matrixAutoUpdate = false;
            entry.group.add(lines);
        }
    }

    #addLabels({ wheels, animations }) {
        const named = new Map();
        for (const { node, name } of wheels) named.set(node, ["wheel", name]);
        for (const { node, end, name } of animations.flatMap((animation) => animation.moved)) {
            if (named.size >= MOST_LABELS) break;
            // A part without a mesh of its own is named at the first of its parts that is drawn.
            const shown = [...this.#nodes.keys()].find((it) => it >= node && it < end);
            if (shown !== undefined && !named.has(shown)) named.set(shown, ["moved", name]);
        }
        this.#shown = [...named].slice(0, MOST_LABELS).map(([node, [kind, name]]) => {
            const span = document.createElement("span");
            span.className = kind;
            span.textContent = name;
            return { span, node };
        });
        this.#labels.replaceChildren(...this.#shown.map(({ span }) => span));
    }

    async #load(machine, trouble) {
        const turn = ++this.#loading;
        this.#meshesOf = null;
        if (machine.meshes === null) return;
        try {
            const geometriesOf = await openMeshes(machine.nodes);
            let triangles = 0;
            let failed = 0;
            for (const { node, bounds } of machine.drawn) {
                if (!bounds) continue;
                const found = await geometriesOf(node).catch(() => ((failed += 1), []));
                if (turn !== this.#loading) return;
                triangles += found.reduce((sum, it) => sum + (it.index ?? it.attributes.position).count / 3, 0);
                if (triangles > MOST_TRIANGLES) throw new Error("it has too many triangles");
                const entry = this.#nodes.get(node);
                if (entry && found.length) this.#fill(entry, found);
            }
            this.#meshesOf = this.#facts.meshes;
            if (failed) trouble(`${failed} meshes of the scene could not be read: these are drawn as boxes.`);
        } catch (error) {
            if (turn === this.#loading) trouble(`The scene's meshes are drawn as boxes: ${error.message}.`);
        }
        document.body.dataset.meshes = this.#meshesOf ? "shown" : "boxes";
        this.draw();
    }

    #frame(first) {
        this.#machine.updateMatrixWorld(true);
        const ball = new Box3().setFromObject(this.#machine).getBoundingSphere(new Sphere());
        const fits = Number.isFinite(ball.radius) && ball.radius > 0;
        this.#view.frame(this.#facts, fits ? ball.center : new Vector3(), fits ? ball.radius : 1);
        if (first) this.#view.from("corner");
        else this.#view.resize(this.#view.aspect ?? 1);
    }

    #colour() {
        const style = getComputedStyle(document.documentElement);
        const colour = (name) => new Color(style.getPropertyValue(name).trim());
        const dark = matchMedia("(prefers-color-scheme: dark)").matches;
        this.#materials ??= {
            still: new MeshLambertMaterial({ side: DoubleSide, flatShading: true }),
            moved: new MeshLambertMaterial({ side: DoubleSide, flatShading: true }),
            outline: new LineDashedMaterial({ dashSize: 0.1, gapSize: 0.07 }),
            // A wheel is seen through whatever covers it.
            wheel: new LineBasicMaterial({ depthTest: false }),
        };
        this.#materials.still.color.set(dark ? 0x7d8b92 : 0xb4bfc4);
        this.#materials.moved.color.copy(colour("--moved")).lerp(new Color(dark ? 0x7d8b92 : 0xd9d3cc), 0.55);
        this.#materials.outline.color.copy(colour("--moved"));
        this.#materials.wheel.color.copy(colour("--wheel"));
        this.draw();
    }

    #resize() {
        const { clientWidth: wide, clientHeight: high } = this.#stage;
        if (!wide || !high) return;
        this.#canvases?.resize(wide, high);
        this.#view.resize(wide / high);
        this.draw();
    }

    /** Once before the next frame, however often it is asked for. */
    draw(isSharp = false) {
        clearTimeout(this.#sharpening);
        if (!isSharp && this.#canvases?.isCoarse) this.#sharpening = setTimeout(() => this.draw(true), SHARPEN_AFTER);
        if (this.#waiting) return;
        this.#waiting = true;
        requestAnimationFrame(() => {
            this.#waiting = false;
            if (!this.#facts) return;
            const { camera } = this.#view;
            this.#light.position.copy(camera.position).sub(this.#view.middle).normalize().addScaledVector(this.#view.up, 0.8);
            const size = this.#view.radius;
            Object.assign(this.#materials.outline, { dashSize: size * 0.025, gapSize: size * 0.018 });
            this.#canvases?.draw(this.#scene, camera, isSharp);
            this.#placeLabels(camera);
        });
    }

    #placeLabels(camera) {
        const { clientWidth: wide, clientHeight: high } = this.#stage;
        const taken = [];
        for (const { span, node } of this.#shown) {
            const { group, drawn } = this.#nodes.get(node);
            const at = new Vector3();
            if (drawn.bounds) at.addVectors(new Vector3(...drawn.bounds[0]), new Vector3(...drawn.bounds[1])).multiplyScalar(0.5);
            at.applyMatrix4(group.matrix).project(camera);
            const fits = this.#names.checked && group.visible && Math.abs(at.x) < 1 && Math.abs(at.y) < 1;
            span.hidden = !fits;
            if (!fits) continue;
            const x = Math.round(((at.x + 1) / 2) * wide);
            let y = Math.round(((1 - at.y) / 2) * high);
            // One under the other rather than one on the other.
            while (taken.some((it) => Math.abs(it.x - x) < 90 && Math.abs(it.y - y) < 20)) y += 20;
            taken.push({ x, y });
            span.style.transform = `translate(${x}px, ${y}px) translate(-50%, -50%)`;
        }
    }
}

/** What of a machine has to be made anew when it changes. */
function shapeOf({ right, up, forward, meshes, drawn, wheels, animations }) {
    return JSON.stringify([right, up, forward, meshes, drawn, wheels, animations.map(({ moved }) => moved)]);
}

/** Whether a node hangs on one of the moved ones, or is one. */
function movedBy(subtrees) {
    return (node) => subtrees.some((it) => node >= it.node && node < it.end);
}

function boxOf([least, most]) {
    const size = most.map((it, at) => Math.max(it - least[at], 1e-6));
    const box = new BoxGeometry(...size);
    return box.translate(...most.map((it, at) => (it + least[at]) / 2));
}
