// The page: asks its server what there is, and lets people move it.

import { Panel } from "./panel.js";
import { Picture } from "./picture.js";
import { Settings } from "./settings.js";
import { machineAfter, pose, tracks } from "./server.js";

const notice = document.getElementById("notice");
const picture = new Picture(document.getElementById("stage"));
const settings = new Settings();
const panel = new Panel(settings, chosen);
let facts = null; // what is shown
let busyWith = null; // the name of an animation
let asking = false; // one pose at a time, always of the newest settings
let askAgain = false;

settings.onChange = showPose;

async function showPose() {
    if (asking) {
        askAgain = true;
        return;
    }
    asking = true;
    try {
        do {
            askAgain = false;
            const shown = facts;
            const posed = await pose(settings.query());
            // A newer definition is on its way, and with it a new question.
            if (!posed || posed.revision !== shown?.revision) continue;
            showPosed(posed);
        } while (askAgain);
    } catch {
        // The loop below tells that the server is gone.
    } finally {
        asking = false;
    }
}

function showPosed({ moved, measured }) {
    picture.pose(moved);
    panel.showMeasured(measured);
}

/** Takes longer than a pose on large machines, and nobody waits for it. */
async function showTracks() {
    const shown = facts;
    try {
        const wide = await tracks();
        if (wide && wide.revision === shown.revision && shown === facts) panel.showTracks(wide.axles);
    } catch {
        // As above.
    }
}

function chosen(animation) {
    busyWith = animation === null ? null : facts.machine.animations[animation].name;
    highlight();
    picture.draw();
}

/** What the animation moves that somebody is busy with; what any of them moves, if nobody is. */
function highlight() {
    const animation = facts.machine.animations.find((it) => it.name === busyWith);
    picture.highlight(animation?.moved ?? null);
}

function show(next) {
    document.title = `${next.file} · preview`;
    panel.showFile(next);
    document.body.classList.toggle("outdated", next.machine === null);
    document.body.dataset.revision = next.revision;
    if (next.machine === null) {
        const last = facts ? " The picture is that of the last machine that could be shown." : "";
        notice.textContent = next.trouble + last;
        return;
    }
    facts = next;
    settings.follow(next.machine.animations);
    panel.showMachine(next.machine);
    const left = next.machine.left_out;
    notice.textContent = left ? `The scene is very large: ${left} of its parts are not drawn.` : "";
    picture.show(next.machine, (trouble) => {
        notice.textContent = trouble;
    });
    highlight();
    if (next.query === settings.query()) showPosed(next.posed);
    else showPose();
    showTracks();
}

// An address that ends in #play=NAME has that animation played, unless its reader likes no motion.
function playAsAsked() {
    const asked = new URLSearchParams(location.hash.slice(1)).get("play");
    if (asked === null || !facts) return;
    const found = facts.machine.animations.findIndex((it) => it.name === asked);
    if (found < 0) return;
    panel.reveal(found);
    if (!matchMedia("(prefers-reduced-motion: reduce)").matches) settings.play(found);
}
addEventListener("hashchange", playAsAsked);

async function follow() {
    let revision = 0;
    let first = true;
    for (;;) {
        try {
            const next = await machineAfter(revision, settings.query());
            if (!next) continue;
            revision = next.revision;
            show(next);
            if (first && facts) {
                first = false;
                playAsAsked();
            }
        } catch {
            notice.textContent = "The preview has ended: Trunnion does not answer any more. Start it again to go on.";
            document.body.classList.add("outdated");
            await new Promise((resume) => setTimeout(resume, 2000));
            revision = 0;
        }
    }
}
follow();
