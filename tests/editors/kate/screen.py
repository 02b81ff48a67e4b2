"""Kate on a screen of its own, worked as a screen reader and a keyboard work it.

What Kate shows is read over AT-SPI, the interface of assistive technology: menus, lists and text are there as text, so that only
colours need a picture. Menus and buttons are pressed over it too; keys are pressed by xdotool.
"""

import os
import shutil
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path

import gi

gi.require_version("Atspi", "2.0")
from checks import wait  # noqa: E402
from gi.repository import Atspi, GLib  # noqa: E402 (the version must be said first)

CLIENT = Path(__file__).parents[3] / "editor-clients/kate"


def install(home: Path) -> None:
    """What editor-clients/kate/README.md tells people to do."""
    config = home / ".config/kate/lspclient"
    syntax = home / ".local/share/org.kde.syntax-highlighting/syntax"
    for folder in [config, syntax]:
        folder.mkdir(parents=True)
    shutil.copy(CLIENT / "settings.json", config)
    shutil.copy(CLIENT / "trunnion.xml", syntax)
    (home / ".config/katerc").write_text("[General]\nStartup Session=new\n[Kate Plugins]\nlspclientplugin=true\n")


class Screen:
    """An invisible screen with Kate on it, showing `file`.

    `home` is an empty folder that becomes Kate's home, `server` the program that Kate finds on its PATH, `log` gets what Kate prints.
    Fails with RuntimeError if Kate does not come.
    """

    def __init__(self, home: Path, server: Path, file: Path, log: Path):
        install(home)
        read, write = os.pipe()
        xvfb = ["Xvfb", "-displayfd", str(write), "-screen", "0", "1600x1200x24", "-nolisten", "tcp"]
        self.display = subprocess.Popen(xvfb, pass_fds=[write], stderr=subprocess.DEVNULL)
        os.close(write)
        with os.fdopen(read) as number:
            os.environ["DISPLAY"] = f":{number.readline().strip()}"
        self.environment = os.environ | {
            "HOME": str(home),
            "PATH": f"{server.parent}:{os.environ['PATH']}",
            "QT_QPA_PLATFORM": "xcb",
            "QT_LINUX_ACCESSIBILITY_ALWAYS_ON": "1",
        }
        for name in ["XDG_CONFIG_HOME", "XDG_DATA_HOME", "QT_ACCESSIBILITY"]:
            self.environment.pop(name, None)
        self.log = log.open("w")
        self.kate = self.start(file)
        # Qt takes part in AT-SPI for certain only if that begins after Kate: reaching for the desktop begins it.
        if not wait(lambda: self.window(), 60):
            raise RuntimeError(f"Kate shows no window; what it printed is in {log}")
        desktop = Atspi.get_desktop(0)
        self.application = wait(lambda: desktop.get_child_at_index(0), 60)
        if not self.application:
            raise RuntimeError("Kate tells AT-SPI nothing")
        self.application.set_cache_mask(Atspi.Cache.NONE)

    def start(self, file: Path) -> subprocess.Popen:
        """Opens a file; in the Kate that is there already, if there is one."""
        return subprocess.Popen(["kate", "--block", str(file)], env=self.environment, stdout=self.log, stderr=self.log)

    def close(self) -> None:
        for process in [self.kate, self.display]:
            process.terminate()
            try:
                process.wait(10)
            except subprocess.TimeoutExpired:
                process.kill()
        self.log.close()

    def picture(self, file: Path, area: str = "") -> None:
        crop = ["-crop", area] if area else []
        subprocess.run(["import", "-window", "root", *crop, str(file)], check=False)

    def colours(self, area: str) -> set[str]:
        """The colours of more than twenty pixels in an area, which is given as WIDTHxHEIGHT+LEFT+TOP."""
        command = ["import", "-window", "root", "-crop", area, "-depth", "8", "-format", "%c", "histogram:info:"]
        counted = subprocess.run(command, capture_output=True, text=True, check=False).stdout
        rows = [line.split(":", 1) for line in counted.splitlines() if ":" in line]
        return {row.split("#")[1][:6] for count, row in rows if "#" in row and int(count) > 20}

    def window(self) -> str | None:
        """Kate's window, by X's number."""
        found = subprocess.run(["xdotool", "search", "--onlyvisible", "--name", r"\.(xml|gltf)"], capture_output=True, text=True, check=False)
        return found.stdout.split()[-1] if found.stdout.split() else None

    def keys(self, *names: str) -> None:
        subprocess.run(["xdotool", "key", "--clearmodifiers", *names], check=False)

    def nodes(self, wanted: Callable[[str, Atspi.Accessible], bool]) -> Iterator[tuple[str, str, Atspi.Accessible]]:
        """What Kate has: role, name, and the thing itself. With what is not wanted, all that is in it is left out: asking takes time."""
        left = [self.application]
        while left:
            node = left.pop()
            try:
                if node is not None and wanted(role := node.get_role_name(), node):
                    yield role, node.get_name(), node
                    count = min(node.get_child_count(), 300)
                    left += [node.get_child_at_index(at) for at in reversed(range(count))]
            except GLib.Error:  # It is gone already, or Kate is busy; who looks again finds it.
                continue

    def everything(self) -> Iterator[tuple[str, str, Atspi.Accessible]]:
        return self.nodes(lambda role, node: True)

    def showing(self) -> Iterator[tuple[str, str, Atspi.Accessible]]:
        return self.nodes(lambda role, node: is_showing(node))

    def menus(self) -> Iterator[tuple[str, str, Atspi.Accessible]]:
        """Open or not."""
        return self.nodes(lambda role, node: role != "split pane")

    def find(self, role: str, wanted: Callable[[str], bool]) -> Atspi.Accessible | None:
        """The first thing of that role and name, which must be showing if it does not stand in a menu."""
        nodes = self.menus() if role == "menu item" else self.showing()
        return next((node for found, name, node in nodes if found == role and wanted(name)), None)

    def names(self, role: str) -> list[str]:
        return [name for found, name, _ in self.showing() if found == role]

    def labels(self) -> list[str]:
        """The texts in windows that come up, such as hovers."""
        return [content(node) for role, _, node in self.showing() if role == "label" and "Text" in node.get_interfaces()]

    def press(self, role: str, wanted: str | Callable[[str], bool]) -> bool:
        """Presses a button or chooses from a menu, whether the menu is open or not; false if there is none."""
        node = self.find(role, wanted if callable(wanted) else lambda name: name == wanted)
        try:
            return node is not None and node.do_action(0)
        except GLib.Error:  # Kate answers only when the dialog that this opened is closed.
            return True


def is_showing(node: Atspi.Accessible) -> bool:
    try:
        return node.get_state_set().contains(Atspi.StateType.SHOWING)
    except GLib.Error:
        return False


def content(node: Atspi.Accessible) -> str:
    try:
        return node.get_text(0, node.get_character_count())
    except GLib.Error:
        return ""


class Document:
    """A file as the editor shows it."""

    def __init__(self, screen: Screen, name: str):
        self.screen, self.name = screen, name

    def node(self) -> Atspi.Accessible | None:
        return self.screen.find("text", lambda name: name == self.name)

    def text(self) -> str:
        node = self.node()
        return content(node) if node else ""

    def line(self) -> str:
        """The line that the caret is in."""
        node = self.node()
        if not node:
            return ""
        text, caret = content(node), node.get_caret_offset()
        return text[: text.find("\n", caret)].rsplit("\n", 1)[-1]

    def area(self, first: str, beyond: str) -> str:
        """The lines from that of one text to before that of another, as an area of the screen."""
        node = wait(self.node, 60)
        text = content(node)
        tops = [node.get_character_extents(text.index(place), Atspi.CoordType.SCREEN).y for place in [first, beyond]]
        editor = node.get_extents(Atspi.CoordType.SCREEN)
        return f"{editor.width}x{tops[1] - tops[0]}+{editor.x}+{tops[0]}"

    def put_caret(self, behind: str) -> None:
        """Behind the first place of a text; and the keyboard into the document."""
        node, window = self.node(), self.screen.window()
        if not node or not window or behind not in (text := content(node)):
            return
        subprocess.run(["xdotool", "windowfocus", window], check=False)
        try:
            if not node.get_state_set().contains(Atspi.StateType.FOCUSED):
                self.click(node.get_extents(Atspi.CoordType.SCREEN))
            node.set_caret_offset(text.index(behind) + len(behind))
        except GLib.Error:  # Who looks for the effect does it again.
            return

    def click(self, area: Atspi.Rect) -> None:
        """Clicks into the middle, and takes the mouse away."""
        at = [str(area.x + area.width // 2), str(area.y + area.height // 2)]
        subprocess.run(["xdotool", "mousemove", *at, "click", "1", "mousemove", "1599", "1199"], check=False)
        wait(lambda: self.node().get_state_set().contains(Atspi.StateType.FOCUSED), 2)
