// What three.js makes of glTF files: the nodes of the default scene with their world matrices and bounds.
//
//   node three.mjs FOLDER-OF-THREE < list.json
//
// Takes a JSON list of paths; writes one line of JSON for each file: {"file", "nodes": [{"depth", "name",
// "world": 16 numbers, column by column, "bounds": [min, max] of the node's own mesh, null if it has none,
// "unknown" if there are no vertices to measure}]} with the nodes in document order, or {"file", "error"}. Nothing is fetched: buffers beside the file are put into the
// document, images and materials are taken out (there is no browser to decode them).

import { readFileSync } from "node:fs";
import { dirname, join, resolve } from "node:path";
import { pathToFileURL } from "node:url";

const modules = resolve(process.argv[2]);
const load = (path) => import(pathToFileURL(join(modules, path)).href);
// The loader reports its progress as browsers do.
globalThis.ProgressEvent ??= class extends Event {};
const { Box3 } = await load("build/three.module.js");
const { GLTFLoader } = await load("examples/jsm/loaders/GLTFLoader.js");
console.warn = () => {};
console.error = () => {};

/** Milliseconds. Some broken files leave the loader waiting for ever. */
const PATIENCE = 3000;

const dataUri = (bytes) => "data:application/octet-stream;base64," + Buffer.from(bytes).toString("base64");

/** The document of a .gltf or .glb file with all its buffers inside. */
function document(path) {
  const bytes = readFileSync(path);
  let text = bytes;
  let binary;
  if (bytes.toString("latin1", 0, 4) === "glTF") {
    const end = 20 + bytes.readUInt32LE(12);
    text = bytes.subarray(20, end);
    if (bytes.length > end + 8) {
      binary = bytes.subarray(end + 8, end + 8 + bytes.readUInt32LE(end));
    }
  }
  const json = JSON.parse(text.toString("utf8").replace(/^\uFEFF/, ""));
  for (const buffer of json.buffers ?? []) {
    if (buffer.uri === undefined) {
      buffer.missing = !binary;
      buffer.uri = dataUri(binary ?? new Uint8Array(buffer.byteLength));
    } else if (!buffer.uri.startsWith("data:")) {
      buffer.uri = dataUri(readFileSync(join(dirname(path), decodeURIComponent(buffer.uri))));
    }
  }
  for (const part of ["images", "textures", "samplers", "materials", "animations"]) delete json[part];
  for (const mesh of json.meshes ?? []) {
    for (const primitive of mesh.primitives ?? []) {
      delete primitive.material;
      // A box around all shapes that a mesh can be morphed into is not what is compared.
      delete primitive.targets;
    }
    delete mesh.weights;
  }
  // glTF leaves it to the reader what to show of a file without scenes; here it is all of it.
  if (!json.scenes?.length && json.scene === undefined) {
    const children = new Set((json.nodes ?? []).flatMap((node) => node.children ?? []));
    json.scenes = [{ nodes: [...(json.nodes ?? []).keys()].filter((index) => !children.has(index)) }];
  }
  return json;
}

/** Whether the file has the vertices of a node's mesh. */
function hasVertices(json, node) {
  const mesh = json.meshes?.[json.nodes[node].mesh];
  const accessors = mesh?.primitives.map((primitive) => json.accessors[primitive.attributes.POSITION]) ?? [];
  const stored = ({ bufferView }) => !json.buffers[json.bufferViews[bufferView].buffer].missing;
  return accessors.every((accessor) => !accessor || accessor.sparse || (accessor.bufferView !== undefined && stored(accessor)));
}

function dump(gltf, json) {
  const nodeOf = (object) => gltf.parser.associations.get(object)?.nodes;
  const nodes = [];
  const own = (object, box) => {
    if (object.geometry?.attributes.position) {
      object.geometry.computeBoundingBox();
      box.union(object.geometry.boundingBox);
    }
    for (const child of object.children) if (nodeOf(child) === undefined) own(child, box);
    return box;
  };
  const walk = (object, depth) => {
    const box = own(object, new Box3());
    const measured = [...box.min, ...box.max].every(Number.isFinite) && hasVertices(json, nodeOf(object));
    nodes.push({
      depth,
      name: json.nodes[nodeOf(object)].name ?? "",
      world: object.matrixWorld.elements,
      bounds: box.isEmpty() ? null : measured ? [box.min.toArray(), box.max.toArray()] : "unknown",
    });
    for (const child of object.children) if (nodeOf(child) !== undefined) walk(child, depth + 1);
  };
  gltf.scene.updateMatrixWorld(true);
  for (const child of gltf.scene.children) if (nodeOf(child) !== undefined) walk(child, 0);
  return nodes;
}

async function read(path) {
  const json = document(path);
  const loaded = new Promise((done, failed) => new GLTFLoader().parse(JSON.stringify(json), "", done, failed));
  let timer;
  const late = new Promise((_, failed) => {
    timer = setTimeout(() => failed(new Error("the loader never answers")), PATIENCE);
  });
  const gltf = await Promise.race([loaded, late]).finally(() => clearTimeout(timer));
  return dump(gltf, json);
}

process.on("unhandledRejection", () => {});
for (const file of JSON.parse(readFileSync(0, "utf8"))) {
  let answer;
  try {
    answer = { file, nodes: await read(file) };
  } catch (error) {
    answer = { file, error: String(error?.message ?? error) };
  }
  process.stdout.write(JSON.stringify(answer) + "\n");
}
process.exit(0);
