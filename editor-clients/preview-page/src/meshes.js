// The meshes of a glTF or GLB file, by the number that a node has in the scene's tree.

import { LoadingManager } from "three";
import { GLTFLoader } from "three/addons/loaders/GLTFLoader.js";
import { scene } from "./server.js";

/** Larger files are shown as boxes: browsers give up on them. */
const LARGEST = 256 * 1024 * 1024;
/** A short file can ask for any number of them. */
const MOST_ELEMENTS = 50_000_000;

/**
 * Reads the scene's file. Only its meshes are asked for: no materials, images or skins, whose files the page cannot
 * have. `count`: how many nodes the server counts.
 *
 * @returns {Promise<(node: number) => Promise<import("three").BufferGeometry[]>>} the geometries of a node's mesh
 */
export async function openMeshes(count) {
    const file = await scene();
    if (file.byteLength > LARGEST) throw new Error("the scene's file is very large");
    const manager = new LoadingManager();
    let tree = null;
    const loader = new GLTFLoader(manager).register((parser) => {
        tree = treeOrder(parser.json);
        strip(parser.json);
        return { name: "only-meshes" };
    });
    const { parser } = await loader.parseAsync(file, "");
    if (tree.length !== count) throw new Error("the page and the server count other nodes in it");
    const known = new Map();
    return async (node) => {
        const mesh = tree[node];
        if (mesh === undefined) return [];
        if (!known.has(mesh)) known.set(mesh, parser.getDependency("mesh", mesh).then(geometries));
        return known.get(mesh);
    };
}

function geometries(mesh) {
    const found = [];
    mesh.traverse((object) => {
        if (object.isMesh) found.push(object.geometry);
    });
    return found;
}

/** The meshes of the default scene's nodes in the order that the server counts them: parents first, subtrees together. */
function treeOrder({ nodes = [], scenes, scene = 0 }) {
    const hangs = new Set(nodes.flatMap((node) => node.children ?? []));
    const roots = scenes?.[scene]?.nodes ?? [...nodes.keys()].filter((node) => !hangs.has(node));
    const open = [...roots].reverse();
    const order = [];
    while (open.length > 0 && order.length <= nodes.length) {
        const node = nodes[open.pop()] ?? {};
        order.push(node.mesh);
        for (const child of [...(node.children ?? [])].reverse()) open.push(child);
    }
    return order;
}

function strip(json) {
    const elements = (json.accessors ?? []).reduce((sum, { count }) => sum + count, 0);
    if (!(elements <= MOST_ELEMENTS)) throw new Error("they are very large");
    for (const part of ["materials", "textures", "images", "skins", "animations", "cameras"]) delete json[part];
    json.nodes = [];
    json.scenes = [{ nodes: [] }];
    json.scene = 0;
    delete json.extensions;
    for (const mesh of json.meshes ?? []) {
        for (const primitive of mesh.primitives ?? []) {
            delete primitive.material;
            delete primitive.targets;
            delete primitive.extensions?.KHR_materials_variants;
        }
        delete mesh.weights;
    }
    for (const [place, buffer] of (json.buffers ?? []).entries()) {
        // Files are had from the server, which looks whether they belong to the scene.
        if (buffer.uri !== undefined && !buffer.uri.startsWith("data:")) buffer.uri = `buffer/${place}`;
    }
}
