// A list to choose from, by mouse or keyboard.

const dialog = document.getElementById("choice");
const list = document.getElementById("choices");
document.getElementById("never").onclick = () => dialog.close();

/** `items`: `title`, and perhaps `detail` and whether it is `disabled`. The one that was chosen, or nothing. */
export function choose(title, items) {
    document.getElementById("choice-title").textContent = title;
    return new Promise((resolve) => {
        list.replaceChildren(
            ...items.map((item) => {
                const button = document.createElement("button");
                button.type = "button";
                button.disabled = Boolean(item.disabled);
                button.textContent = item.title;
                if (item.detail) button.append(Object.assign(document.createElement("small"), { textContent: item.detail }));
                button.onclick = () => {
                    resolve(item);
                    dialog.close();
                };
                const line = document.createElement("li");
                line.append(button);
                return line;
            }),
        );
        dialog.onclose = () => resolve(null);
        dialog.showModal();
        list.querySelector("button:enabled")?.focus();
    });
}
