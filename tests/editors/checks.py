"""What tests of editors do that are made of gestures: wait until what must come of one is seen, say so, and count what did not come."""

import time
from collections.abc import Callable

PATIENCE = 60  # seconds, for machines that are slow and busy

failures = 0


def wait(look: Callable[[], object], patience: float) -> object:
    """What `look` gives as soon as it gives something; what it gave last after `patience` seconds."""
    end = time.monotonic() + patience
    while not (seen := look()) and time.monotonic() < end:
        time.sleep(0.1)
    return seen


def check(what: str, ok: object, seen: object = "") -> None:
    global failures
    print(f"ok   {what}" if ok else f"FAIL {what}: {seen}", flush=True)
    failures += not ok


def expect(what: str, look: Callable[[], object], gesture: Callable[[], object] | None = None, seen: Callable[[], object] = lambda: "") -> None:
    """Checks that `look` gives something at last. A gesture is made again until then, since editors lose keys while they are busy."""
    # What follows from a failure fails too, and need not be waited for long.
    end = time.monotonic() + (PATIENCE if failures == 0 else 10)
    while True:
        if gesture:
            gesture()
        left = end - time.monotonic()
        if wait(look, min(6, max(0.1, left)) if gesture else left):
            return check(what, True)
        if time.monotonic() > end:
            return check(what, False, seen())


def feature(name: str, before: int) -> None:
    """Tells the table of editors and features (tests/editors/table.mjs) that this works, if nothing has failed since `before`."""
    if failures == before:
        print(f"FEATURE {name}", flush=True)


def failed() -> int:
    return failures


def end(editor: str) -> int:
    """The exit code, after the last word."""
    print(f"{failures} checks failed in {editor}" if failures else f"all is well in {editor}")
    return 1 if failures else 0
