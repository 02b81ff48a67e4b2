"""A real Kate with Trunnion in it. Run as: dbus-run-session -- python3 tests/editors/kate/kate.py FOLDER, which gets logs and pictures.
"""

import os
import shutil
import sys
import tempfile
import time
from pathlib import Path

from checks import check, end, expect, failed, feature, wait
from screen import Document, Screen

PROJECT = Path(__file__).parents[3]
STORY = "wheel-left-behind"


def run(screen: Screen, pictures: Path, mod: Path) -> None:
    machine = Document(screen, "bram-6.machine.xml")
    original = (mod / "machines/bram-6.machine.xml").read_text()

    def choose(item: str, behind: str) -> None:
        machine.put_caret(behind)
        screen.press("menu item", item)

    def diagnostics() -> list[str]:
        return [name for name in screen.names("table cell") if name.startswith("[trunnion]")]

    def undone() -> bool:
        return machine.text() == original

    # Other XML is left alone.
    def asks() -> bool:
        return "LSP server start requested" in screen.names("alert")

    expect("other XML is XML", lambda: "XML" in screen.names("push button"))
    check("… and no server is to be started for it", not wait(asks, 3))
    opening = screen.start(mod / "machines/bram-6.machine.xml")
    expect("a machine definition is a kind of file of its own", lambda: "Trunnion" in screen.names("push button"), seen=lambda: screen.names("push button"))
    expect("Kate asks whether it may start the server", asks)
    plain = screen.colours(top_lines(machine))
    check("… before which words have the colours of XML", len(plain) > 2, plain)
    began = time.monotonic()
    expect("… and may", lambda: not asks(), lambda: screen.press("push button", "Yes"))

    before = failed()
    expect("the demo has its one finding", lambda: len(told := diagnostics()) == 1 and STORY in told[0],
           lambda: screen.press("menu item", "Switch to Diagnostics Tab"), diagnostics)
    if failed() == before:
        print(f"TIME {1000 * (time.monotonic() - began):.0f} ms from the start of the server to the first findings seen", flush=True)

    def misspell() -> None:
        if undone():
            machine.put_caret('target="mast')
            screen.keys("s")

    expect("a misspelled name is found", lambda: any("unknown-name" in told for told in diagnostics()), misspell, diagnostics)
    expect("… and the text is as it was", undone, lambda: screen.press("menu item", "Undo"))
    expect("… and well again", lambda: len(told := diagnostics()) == 1 and STORY in told[0], seen=diagnostics)
    feature("findings", before)
    screen.picture(pictures / "findings.png")

    before = failed()
    machine.put_caret("<?xml")
    expect("words have colours that the file's kind does not give", lambda: screen.colours(top_lines(machine)) - plain,
           seen=lambda: (plain, screen.colours(top_lines(machine))))
    feature("colours", before)

    before = failed()
    expect("a hover tells where a name leads", lambda: any("Index path: 0/0/0" in label for label in screen.labels()),
           lambda: choose("Symbol Info", 'target="leg.'), screen.labels)
    feature("hover", before)
    screen.picture(pictures / "hover.png")

    before = failed()
    expect("all places of a name are listed", lambda: has_places(screen),
           lambda: choose("Find References", 'target="leg.'), lambda: screen.names("table cell"))
    feature("references", before)

    before = failed()
    expect("the outline is listed", lambda: {"mast.raise", "hooks.close"} <= set(outline(screen)), seen=lambda: outline(screen))
    feature("outline", before)

    def complete() -> None:
        machine.put_caret('<channel target="')
        screen.keys("ctrl+space")

    before = failed()
    expect("names are completed", lambda: "leg.right [alias]" in screen.names("table cell"), complete)
    screen.picture(pictures / "completion.png")
    expect("… and the list goes", lambda: "leg.right [alias]" not in screen.names("table cell"), lambda: screen.keys("Escape"))
    expect("… and nothing stays of it", undone)
    feature("completion", before)

    def rename() -> None:
        if not screen.find("dialog", lambda name: name == "Rename"):
            choose("Rename", 'target="leg.')
        field = wait(lambda: screen.find("text", lambda name: name.startswith("New name")), 5)
        if field:
            field.set_text_contents("leg.port")
            screen.press("push button", "OK")

    before = failed()
    expect("a name is changed where it is given and used",
           lambda: machine.text().count('"leg.port"') == 2 and '"leg.left"' not in machine.text(), rename)
    expect("… and back", undone, lambda: screen.press("menu item", "Undo"))
    feature("rename", before)

    def adjust() -> None:
        if undone():
            machine.put_caret('target="leg.')
            screen.press("menu item", "LSP Client")
            screen.press("menu item", "Code Action")
            wait(lambda: screen.press("menu item", lambda name: "Make adjustable: `leg.left` and `leg.right`" in name), 10)

    before = failed()
    expect("the legs get a lever", lambda: '<lever animation="leg.' in machine.text(), adjust)
    lever = machine.text().partition('<lever animation="leg.')[2].partition("</lever>")[0]
    for wheel in ["front.left", "front.right", "rear.left", "rear.right"]:
        check(f"… a lever carries wheel {wheel}", f'<carry wheel="{wheel}"' in lever, lever)
    expect("… no wheel is left behind any more", lambda: not diagnostics(), seen=diagnostics,
           gesture=lambda: screen.press("menu item", "Switch to Diagnostics Tab"))
    expect("… and back in one step", undone, lambda: undone() or screen.press("menu item", "Undo"))
    feature("assists", before)

    before = failed()
    expect("a name leads to its alias", lambda: '<alias name="leg.left"' in machine.line(),
           lambda: choose("Go to Definition", 'target="leg.'), machine.line)
    scene = Document(screen, "bram-6.gltf")
    expect("a path leads into the scene", lambda: '"name": "leg.left"' in scene.line(),
           lambda: scene.node() or choose("Go to Definition", 'path="0/'), scene.line)
    feature("definition", before)
    opening.terminate()


def top_lines(machine: Document) -> str:
    """Where the aliases stand, which have no finding."""
    return machine.area("<aliases>", "</aliases>")


def has_places(screen: Screen) -> bool:
    cells = screen.names("table cell")
    return any('<alias name="leg.left"' in cell for cell in cells) and any('<channel target="leg.left"' in cell for cell in cells)


def outline(screen: Screen) -> list[str]:
    return [name for role, name, _ in screen.everything() if role == "table cell"]


def main(folder: Path) -> int:
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as work:
        home = Path(work) / "home"
        home.mkdir()
        mod = Path(work) / "ternholt"
        shutil.copytree(PROJECT / "corpus/ternholt", mod)
        page = Path(work) / "page.xml"
        page.write_text("<page/>\n")
        screen = Screen(home, Path(os.environ["TRUNNION_BIN"]).resolve(), page, folder / "kate.txt")
        try:
            run(screen, folder, mod)
        finally:
            screen.picture(folder / "end.png")
            screen.close()
    return end("Kate")


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
