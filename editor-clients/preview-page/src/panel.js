// What stands beside the picture. Text from files gets into the page as text only, never as markup.

const part = (id) => document.getElementById(id);

function element(name, properties = {}, ...inside) {
    const made = Object.assign(document.createElement(name), properties);
    made.append(...inside);
    return made;
}

const none = (text) => element("p", { className: "none" }, text);

/** A message with its `quoted` pieces of the file set off. */
function message(text) {
    return text.split("`").map((piece, at) => (at % 2 ? element("code", {}, piece) : piece));
}

/** A row for each control: the track width at both ends of its travel, and the least and the greatest on the way. */
function ranges({ of, controls }) {
    const head = ["Control", "0 %", "100 %", "least", "greatest"].map((text) => element("th", { scope: "col" }, text));
    const row = ({ control, start, end, least, most }) => {
        const numbers = [["start", start], ["end", end], ["least", least], ["most", most]];
        const cells = numbers.map(([name, text]) => {
            const cell = element("td", {}, text);
            cell.dataset.range = name;
            return cell;
        });
        return element("tr", {}, element("th", { scope: "row" }, control), ...cells);
    };
    const table = element("table", {}, element("thead", {}, element("tr", {}, ...head)), element("tbody", {}, ...controls.map(row)));
    table.setAttribute("aria-label", `${of}, over each control's travel`);
    return table;
}

const WORST_FIRST = ["error", "warning", "information", "hint"];

export class Panel {
    #settings;
    #measured = [];
    #axles = []; // whose track some control changes
    #chosen; // told which animation somebody is busy with
    #rows = [];

    constructor(settings, chosen) {
        this.#settings = settings;
        this.#chosen = chosen;
        settings.listen(() => this.#refresh());
        part("reset").addEventListener("click", () => {
            settings.reset();
            chosen(null);
        });
    }

    showFile({ file, problems, more_problems: more }) {
        part("file").textContent = file;
        const sorted = problems.toSorted((a, b) => WORST_FIRST.indexOf(a.severity) - WORST_FIRST.indexOf(b.severity));
        const items = sorted.map(({ severity, line, code, message: text }) =>
            element("li", { className: severity }, element("b", {}, `${severity}, line ${line} (${code})`), ...message(text)),
        );
        if (more > 0) items.push(element("li", {}, `… and ${more} more.`));
        if (items.length === 0) items.push(element("li", { className: "none" }, "None found."));
        part("problems").replaceChildren(...items);
    }

    /** Keeps the focus where it is: a slider of an unchanged name is the same slider. */
    showMachine({ controls, animations, contested }) {
        const shape = JSON.stringify([controls, animations.map(({ name, length }) => [name, length])]);
        if (shape !== this.shape) {
            const focused = document.activeElement?.id;
            this.shape = shape;
            this.#rows = [];
            part("controls").replaceChildren(
                ...controls.map((control, at) => this.#control(control, at, animations)),
                ...(controls.length ? [] : [none("This machine has none.")]),
            );
            part("animations").replaceChildren(
                ...animations.map((animation, at) => this.#timeLine(animation, at)),
                ...(animations.length ? [] : [none("This machine has none.")]),
            );
            if (focused) part(focused)?.focus();
        }
        part("contested").replaceChildren(
            ...(contested.length ? contested.map((text) => element("li", {}, text)) : [none("None.")]),
        );
        this.#refresh();
    }

    showMeasured(measured) {
        this.#measured = measured;
        this.#write();
    }

    /** How wide the track gets, beside how wide it is. */
    showTracks(axles) {
        this.#axles = axles;
        this.#write();
    }

    #write() {
        const rows = this.#measured.flatMap(({ key, of, value }) => {
            const number = element("dd", {}, value);
            number.dataset.key = key;
            const axle = key === "track-width" && this.#axles.find((it) => it.of === of);
            return [element("dt", {}, of), number, ...(axle ? [element("dd", { className: "ranges" }, ranges(axle))] : [])];
        });
        part("measured").replaceChildren(...rows);
        if (rows.length === 0) part("measured").append(element("dt", { className: "none" }, "Nothing can be measured."));
    }

    /** Brings an animation's time line into sight and puts the focus there. */
    reveal(animation) {
        const row = part(`animation-${animation}`);
        // In a panel of an editor, whoever is typing goes on typing.
        if (window === window.top) row?.focus();
        row?.scrollIntoView({ block: "nearest" });
        this.#chosen(animation);
    }

    #control({ name, animation, time }, at, animations) {
        const length = animation === null ? 0 : animations[animation].length;
        if (!(length > 0)) {
            return element("div", { className: "setting" }, name, none("It plays nothing."));
        }
        const text = time ? `${name} (${time} from end to end)` : name;
        return this.#row(`control-${at}`, text, animation, length, (seconds) => `${Math.round((seconds / length) * 100)} %`);
    }

    #timeLine({ name, length }, at) {
        if (!(length > 0)) return element("div", { className: "setting" }, name, none("It has no length."));
        const play = element("button", { type: "button", className: "play" });
        play.addEventListener("click", () => {
            this.#chosen(at);
            if (this.#settings.isPlaying(at)) this.#settings.pause(at);
            else this.#settings.play(at);
        });
        this.#rows.push(() => {
            const playing = this.#settings.isPlaying(at);
            play.textContent = playing ? "Pause" : "Play";
            play.setAttribute("aria-label", `${playing ? "Pause" : "Play"} ${name}`);
        });
        return this.#row(`animation-${at}`, name, at, length, (seconds) => `${seconds.toFixed(2)} s`, play);
    }

    #row(id, text, animation, length, say, ...more) {
        const slider = element("input", { type: "range", id, min: 0, max: length, step: "any", value: 0 });
        const output = element("output");
        output.setAttribute("for", id);
        const set = (seconds) => {
            this.#chosen(animation);
            this.#settings.set(animation, Math.max(0, Math.min(length, seconds)));
        };
        slider.addEventListener("input", () => set(slider.valueAsNumber));
        slider.addEventListener("keydown", (event) => {
            // With `step="any"` the keys' steps are up to the browser: a hundredth of the way, a tenth with Page.
            const steps = { ArrowRight: 1, ArrowUp: 1, ArrowLeft: -1, ArrowDown: -1, PageUp: 10, PageDown: -10, Home: -Infinity, End: Infinity };
            const step = steps[event.key];
            if (step === undefined || event.ctrlKey || event.altKey || event.metaKey) return;
            event.preventDefault();
            set(step === Infinity ? length : step === -Infinity ? 0 : slider.valueAsNumber + (step * length) / 100);
        });
        this.#rows.push(() => {
            const seconds = this.#settings.time(animation);
            slider.value = seconds ?? 0;
            output.textContent = seconds === null ? "at rest" : say(seconds);
            slider.setAttribute("aria-valuetext", output.textContent);
        });
        const label = element("label", { htmlFor: id }, text);
        return element("div", { className: "setting" }, label, element("div", { className: "row" }, slider, output, ...more));
    }

    #refresh() {
        for (const refresh of this.#rows) refresh();
    }
}
