// At which time each animation stands. Controls are set through the animations that they play.

export class Settings {
    /** Called after every change. */
    onChange = () => {};
    #animations = [];
    #times = new Map(); // by key, in the order in which they were set: the later one counts where two drive the same
    #playing = new Map(); // key → time of the last frame
    #listeners = new Set();

    /** Takes up a new version of the machine; what is set stays set, also for a name that is away while somebody types. */
    follow(animations) {
        const seen = new Map();
        this.#animations = animations.map((animation) => {
            const nth = seen.get(animation.name) ?? 0;
            seen.set(animation.name, nth + 1);
            return { key: `${nth} ${animation.name}`, length: animation.length };
        });
        const keys = new Set(this.#animations.map((it) => it.key));
        for (const key of this.#playing.keys()) if (!keys.has(key)) this.#playing.delete(key);
    }

    /** `listener` hears of every change. */
    listen(listener) {
        this.#listeners.add(listener);
    }

    /** Seconds; null: at rest. */
    time(animation) {
        const { key, length } = this.#animations[animation];
        const time = this.#times.get(key);
        return time === undefined ? null : Math.min(time, length);
    }

    set(animation, seconds) {
        const { key } = this.#animations[animation];
        this.#times.delete(key);
        this.#times.set(key, seconds);
        this.#changed();
    }

    isPlaying(animation) {
        return this.#playing.has(this.#animations[animation].key);
    }

    /** From where it stands, or from the start if that is the end. */
    play(animation) {
        const { key, length } = this.#animations[animation];
        if (!(length > 0)) return;
        const starts = this.#playing.size === 0;
        this.#playing.set(key, null);
        if ((this.time(animation) ?? length) >= length) this.set(animation, 0);
        else this.#changed();
        if (starts) requestAnimationFrame((now) => this.#step(now));
    }

    pause(animation) {
        this.#playing.delete(this.#animations[animation].key);
        this.#changed();
    }

    reset() {
        this.#times.clear();
        this.#playing.clear();
        this.#changed();
    }

    /** For the server. */
    query() {
        const places = new Map(this.#animations.map((it, at) => [it.key, at]));
        const there = [...this.#times.keys()].filter((key) => places.has(key));
        return there.map((key) => `${places.get(key)}=${this.time(places.get(key))}`).join("&");
    }

    #step(now) {
        for (const [at, { key, length }] of this.#animations.entries()) {
            if (!this.#playing.has(key)) continue;
            const last = this.#playing.get(key) ?? now;
            const time = Math.min(length, (this.time(at) ?? 0) + (now - last) / 1000);
            this.#playing.set(key, now);
            if (time >= length) this.#playing.delete(key);
            this.#times.delete(key);
            this.#times.set(key, time);
        }
        this.#changed();
        if (this.#playing.size > 0) requestAnimationFrame((next) => this.#step(next));
    }

    #changed() {
        for (const listener of this.#listeners) listener();
        this.onChange();
    }
}
