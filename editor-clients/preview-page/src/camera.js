// Where the machine is looked at from: by mouse, by keys, by the buttons.

import { OrthographicCamera, Vector3 } from "three";
import { OrbitControls } from "three/addons/controls/OrbitControls.js";

export class View {
    constructor(stage, onChange) {
        // Without perspective, equal lengths look equal.
        this.camera = new OrthographicCamera();
        this.orbit = new OrbitControls(this.camera, stage);
        this.orbit.addEventListener("change", onChange);
        this.middle = new Vector3();
        this.radius = 1;
        stage.addEventListener("keydown", (event) => this.#key(event));
        for (const button of document.querySelectorAll("[data-from]")) {
            button.addEventListener("click", () => this.from(button.dataset.from));
        }
    }

    /** Takes up the machine's directions and its size. */
    frame({ right, up, forward }, middle, radius) {
        this.right = new Vector3(...right);
        this.up = new Vector3(...up);
        this.forward = new Vector3(...forward);
        this.middle.copy(middle);
        this.radius = radius > 0 ? radius : 1;
    }

    from(side) {
        const { right, up, forward, camera } = this;
        const away = {
            front: forward.clone(),
            side: right.clone(),
            top: up.clone().addScaledVector(forward, -1e-3),
            corner: forward.clone().addScaledVector(right, 0.8).addScaledVector(up, 0.55),
        }[side].normalize();
        camera.up.copy(up);
        // OrbitControls reads the direction of up when it is made; this is how it is told of another one.
        this.orbit._quat?.setFromUnitVectors(up, new Vector3(0, 1, 0));
        this.orbit._quatInverse?.copy(this.orbit._quat).invert();
        camera.zoom = 1;
        camera.position.copy(this.middle).addScaledVector(away, this.radius * 10);
        this.orbit.target.copy(this.middle);
        this.orbit.update();
        this.resize(this.aspect ?? 1);
    }

    resize(aspect) {
        this.aspect = aspect;
        const { camera } = this;
        const half = this.radius * 1.15;
        const [across, high] = aspect > 1 ? [half * aspect, half] : [half, half / aspect];
        Object.assign(camera, { left: -across, right: across, top: high, bottom: -high, near: this.radius * 0.01, far: this.radius * 100 });
        camera.updateProjectionMatrix();
    }

    #key(event) {
        const turn = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
        const zoom = { "+": 1.1, "=": 1.1, "-": 1 / 1.1 }[event.key];
        if ((!turn && !zoom) || event.ctrlKey || event.altKey || event.metaKey) return;
        event.preventDefault();
        const { camera, orbit } = this;
        if (zoom) {
            camera.zoom *= zoom;
            camera.updateProjectionMatrix();
        } else {
            const step = Math.PI / 36;
            const arm = camera.position.clone().sub(orbit.target).applyAxisAngle(camera.up, turn[0] * step);
            const side = new Vector3().crossVectors(camera.up, arm).normalize();
            const tilted = arm.clone().applyAxisAngle(side, turn[1] * step);
            // Not over the pole.
            const fromPole = tilted.angleTo(camera.up);
            camera.position.copy(orbit.target).add(fromPole > 0.05 && fromPole < Math.PI - 0.05 ? tilted : arm);
        }
        orbit.update();
        orbit.dispatchEvent({ type: "change" });
    }
}
