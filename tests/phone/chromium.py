"""A page in headless Chromium, driven over a pipe by the DevTools protocol: taps, what is shown, pictures."""

from __future__ import annotations

import atexit
import base64
import json
import os
import subprocess
import tempfile
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from pathlib import Path

from tests.phone.page_tab import PageTab
from tests.progress.browser import CHROMIUM

__all__ = ["CHROMIUM", "Tab"]

_FLAGS = (
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run", "--disable-extensions",
    "--disable-background-networking", "--disable-component-update", "--disable-sync", "--remote-debugging-pipe",
    "--autoplay-policy=no-user-gesture-required",
)  # fmt: skip


class _Browser:
    """A running Chromium and its pipe. Each phone is a context of its own in it, with a storage that no other sees."""

    def __init__(self) -> None:
        to_read, to_write = os.pipe()
        from_read, from_write = os.pipe()

        def wired() -> None:
            commands, answers = os.dup(to_read), os.dup(from_write)  # neither may be 3 or 4 when these are taken
            os.dup2(commands, 3)
            os.dup2(answers, 4)

        self._folder = tempfile.TemporaryDirectory(prefix="chromium-", ignore_cleanup_errors=True)
        self._process = subprocess.Popen(
            [CHROMIUM, *_FLAGS, f"--user-data-dir={self._folder.name}", "about:blank"], preexec_fn=wired,
            close_fds=False, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        os.close(to_read)
        os.close(from_write)
        self._out, self._in, self._rest, self._count = to_write, from_read, b"", 0
        self.listeners: dict[str, Callable[[dict], None]] = {}
        atexit.register(self._close)

    def _close(self) -> None:
        with suppress(Exception):
            self.call(None, "Browser.close")
        with suppress(subprocess.TimeoutExpired):
            self._process.wait(10)
        self._process.kill()
        self._process.wait()
        os.close(self._out)
        os.close(self._in)
        self._folder.cleanup()

    def call(self, session: str | None, method: str, **params: object) -> dict:
        """The answer to a call of the protocol; what is told meanwhile goes to the tab it is about."""
        self._count += 1
        message = {"id": self._count, "method": method, "params": params}
        if session is not None:
            message["sessionId"] = session
        os.write(self._out, json.dumps(message).encode() + b"\0")
        while True:
            told = self._told()
            if told.get("id") == self._count:
                if "error" in told:
                    raise RuntimeError(f"{method}: {told['error']}")
                return told["result"]

    def _told(self) -> dict:
        while b"\0" not in self._rest:
            piece = os.read(self._in, 1 << 16)
            if not piece:
                raise RuntimeError("the browser went away")
            self._rest += piece
        message, _, self._rest = self._rest.partition(b"\0")
        told = json.loads(message)
        if (listener := self.listeners.get(told.get("sessionId", ""))) is not None:
            listener(told)
        return told


@cache
def _browser() -> _Browser:
    """The browser of this process, started once: a start takes longer than most of what is asked of it."""
    return _Browser()


class Tab(PageTab):
    """A phone with one tab and a page in it: what pages store there, no other phone sees. Use it as a context."""

    def __init__(
        self, width: int = 360, height: int = 740, dark: bool = False, stores: bool = True, mobile: bool = True
    ):
        self._browser = _browser()
        self._session: str | None = None
        self.asked: list[str] = []
        self.complaints: list[str] = []
        self._context = self.call("Target.createBrowserContext")["browserContextId"]
        target = self.call("Target.createTarget", url="about:blank", browserContextId=self._context)["targetId"]
        self._session = str(self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"])
        self._browser.listeners[self._session] = self._note
        for domain in ("Page", "Runtime", "Network", "Log"):
            self.call(f"{domain}.enable")
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=2, mobile=mobile)
        scheme = "dark" if dark else "light"
        self.call("Emulation.setEmulatedMedia", features=[{"name": "prefers-color-scheme", "value": scheme}])
        if not stores:
            refuse = "Storage.prototype.setItem = function () { throw new Error('full'); };"
            self.call("Page.addScriptToEvaluateOnNewDocument", source=refuse)

    def __enter__(self) -> Tab:
        return self

    def __exit__(self, *_: object) -> None:
        self._browser.listeners.pop(self._session or "", None)
        self._session = None
        with suppress(RuntimeError, OSError):
            self.call("Target.disposeBrowserContext", browserContextId=self._context)

    def call(self, method: str, **params: object) -> dict:
        """The answer to a call of the protocol."""
        return self._browser.call(self._session, method, **params)

    def _note(self, told: dict) -> None:
        if told.get("method") == "Network.requestWillBeSent":
            self.asked.append(told["params"]["request"]["url"])
        elif told.get("method") in ("Runtime.exceptionThrown", "Log.entryAdded", "Runtime.consoleAPICalled"):
            self.complaints.append(json.dumps(told["params"])[:400])

    def open(self, page: Path) -> None:
        """Show a page, whole."""
        self.call("Page.navigate", url=page.as_uri())
        self.until("document.readyState === 'complete'")

    def run(self, expression: str) -> object:
        """The value of an expression in the page."""
        found = self.call("Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in found:
            raise RuntimeError(json.dumps(found["exceptionDetails"])[:600])
        return found["result"].get("value")

    def tap(self, words: str) -> None:
        """Tap the button that begins with these words, where a finger would."""
        x, y = self.middle_of(words)
        for kind in ("mousePressed", "mouseReleased"):
            self.call("Input.dispatchMouseEvent", type=kind, x=x, y=y, button="left", clickCount=1)

    def paper(self) -> bytes:
        """The page printed as PDF, on the size that its style asks for."""
        return base64.b64decode(self.call("Page.printToPDF", preferCSSPageSize=True, printBackground=False)["data"])

    def picture(self, path: Path) -> None:
        """What is seen, as a PNG."""
        path.write_bytes(base64.b64decode(self.call("Page.captureScreenshot", format="png")["data"]))
