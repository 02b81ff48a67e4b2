// What the picture is drawn on. A graphics card draws everything at once. A processor takes as long as there are pixels,
// so while something changes it draws a quarter of them, on a canvas of its own: to change a canvas's size takes longer still.

import { WebGLRenderer } from "three";

const COARSE = 0.5;

export class Canvases {
    #sharp;
    #coarse = null;

    /** Fails where the browser draws no 3D. */
    constructor(canvas) {
        const hasCard = hasGraphicsCard();
        this.#sharp = new WebGLRenderer({ canvas, antialias: hasCard, alpha: true });
        if (hasCard) return;
        const second = canvas.cloneNode();
        second.id = "coarse";
        canvas.after(second);
        this.#coarse = new WebGLRenderer({ canvas: second, alpha: true });
        this.#coarse.setPixelRatio(COARSE);
    }

    /** Whether pictures of things that change lack something. */
    get isCoarse() {
        return this.#coarse !== null;
    }

    resize(wide, high) {
        this.#sharp.setPixelRatio(Math.min(2, devicePixelRatio));
        for (const renderer of [this.#sharp, this.#coarse]) renderer?.setSize(wide, high, false);
    }

    draw(scene, camera, isSharp) {
        const renderer = (isSharp ? null : this.#coarse) ?? this.#sharp;
        renderer.render(scene, camera);
        for (const one of [this.#sharp, this.#coarse]) {
            if (one) one.domElement.style.visibility = one === renderer ? "visible" : "hidden";
        }
    }
}

/** Without one, smooth edges would take longer than everything else together. */
function hasGraphicsCard() {
    const probe = document.createElement("canvas").getContext("webgl2", { failIfMajorPerformanceCaveat: true });
    if (!probe) return false;
    // Not every browser that draws with the processor says so when it is asked.
    const names = probe.getExtension("WEBGL_debug_renderer_info");
    const drawnBy = names ? probe.getParameter(names.UNMASKED_RENDERER_WEBGL) : "";
    probe.getExtension("WEBGL_lose_context")?.loseContext();
    return !/swiftshader|llvmpipe|softpipe|software|basic render/i.test(drawnBy);
}
