"""A page in Firefox or WebKit, driven by the commands of the W3C's WebDriver: taps, what is shown, pictures.

Firefox takes them over a socket of its own (Marionette), WebKit by WebKitWebDriver over HTTP on this machine.
"""

from __future__ import annotations

import base64
import json
import os
import shutil
import socket
import subprocess
import time
import urllib.error
import urllib.request
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from tests.phone.page_tab import PageTab

__all__ = ["FIREFOX", "WEBKIT", "FirefoxTab", "WebKitTab"]

FIREFOX = shutil.which("firefox-esr") or shutil.which("firefox")
_DRIVER = shutil.which("WebKitWebDriver")
_BROWSER = next(Path("/usr/lib").glob("*/webkit2gtk-4*/MiniBrowser"), None)
WEBKIT = _DRIVER if _BROWSER and (os.environ.get("DISPLAY") or shutil.which("Xvfb")) else None
"""WebKit's driver, where there is a browser for it and a screen to show it on."""

_TRIES = 600
"""So often a browser that starts is asked whether it listens, ten times a second."""


class _Tab(PageTab):
    """What both have in common: a page opened, looked at and tapped by the commands of WebDriver."""

    def _command(self, name: str, method: str, path: str, body: dict) -> object:
        raise NotImplementedError

    def open(self, page: Path) -> None:
        """Show a page, whole."""
        self._command("Navigate", "POST", "url", {"url": page.as_uri()})
        self.until("document.readyState === 'complete'")

    def run(self, expression: str) -> object:
        """The value of an expression in the page."""
        script = (
            "const done = arguments[arguments.length - 1];"
            f"Promise.resolve().then(() => {expression}).then(done, fault => done('fault: ' + fault));"
        )
        found = self._command("ExecuteAsyncScript", "POST", "execute/async", {"script": script, "args": []})
        if isinstance(found, str) and found.startswith("fault: "):
            raise RuntimeError(found)
        return found

    def tap(self, words: str) -> None:
        """Tap the button that begins with these words, where a finger would."""
        x, y = map(round, self.middle_of(words))
        moves = [
            {"type": "pointerMove", "x": x, "y": y, "duration": 0, "origin": "viewport"},
            {"type": "pointerDown", "button": 0},
            {"type": "pointerUp", "button": 0},
        ]
        pointer = {"type": "pointer", "id": "finger", "parameters": {"pointerType": "mouse"}, "actions": moves}
        self._command("PerformActions", "POST", "actions", {"actions": [pointer]})

    def picture(self, path: Path) -> None:
        """What is seen, as a PNG."""
        path.write_bytes(base64.b64decode(str(self._command("TakeScreenshot", "GET", "screenshot", {}))))

    def size(self, width: int, height: int) -> None:
        """Make the page so large, in its own pixels."""
        for _ in range(2):  # a window has a frame of its own, and before it is shown no size at all
            inner = self.run("[outerWidth - innerWidth, outerHeight - innerHeight].map(each => Math.max(0, each))")
            across, down = inner if isinstance(inner, list) else (0, 0)
            self._command("SetWindowRect", "POST", "window/rect", {"width": width + across, "height": height + down})


class FirefoxTab(_Tab):
    """Firefox without a window. profile: where it keeps what a page stores. dark: which colours a page is to prefer."""

    def __init__(self, profile: Path, width: int = 500, height: int = 740, dark: bool = False):
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        profile.mkdir(parents=True, exist_ok=True)
        settings = {
            "marionette.port": port, "layout.css.prefers-color-scheme.content-override": 0 if dark else 1,
            "app.normandy.enabled": False, "datareporting.policy.dataSubmissionEnabled": False,
            "browser.safebrowsing.update.enabled": False, "network.captive-portal-service.enabled": False,
            "network.connectivity-service.enabled": False, "browser.shell.checkDefaultBrowser": False,
        }  # fmt: skip
        lines = (f"user_pref({json.dumps(name)}, {json.dumps(value)});" for name, value in settings.items())
        (profile / "user.js").write_text("\n".join(lines), encoding="utf-8")
        self._process = subprocess.Popen(
            [str(FIREFOX), "--headless", "--marionette", "--no-remote", "--profile", str(profile), "about:blank"],
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env={**os.environ, "HOME": str(profile)},
        )  # fmt: skip
        self._socket = _once_it_listens(lambda: socket.create_connection(("127.0.0.1", port), 120), self._process)
        self._count, self._rest = 0, b""
        self._answer()
        self._command("NewSession", "", "", {"capabilities": {}})
        self.size(width, height)

    def __enter__(self) -> FirefoxTab:
        return self

    def __exit__(self, *_: object) -> None:
        with suppress(Exception):
            self._send("Marionette:Quit", {"flags": ["eForceQuit"]})
        with suppress(subprocess.TimeoutExpired):
            self._process.wait(20)
        self._process.kill()
        self._process.wait()
        self._socket.close()

    def _command(self, name: str, method: str, path: str, body: dict) -> object:
        full = {"full": False} if name == "TakeScreenshot" else {}
        self._send(f"WebDriver:{name}", body | full)
        _, _, fault, found = self._answer()
        if fault:
            raise RuntimeError(f"{name}: {fault['message']}")
        return found["value"] if isinstance(found, dict) and set(found) == {"value"} else found

    def _send(self, name: str, body: dict) -> None:
        self._count += 1
        text = json.dumps([0, self._count, name, body]).encode()
        self._socket.sendall(b"%d:%b" % (len(text), text))

    def _answer(self) -> list:
        while b":" not in self._rest:
            self._rest += self._piece()
        length, _, self._rest = self._rest.partition(b":")
        while len(self._rest) < int(length):
            self._rest += self._piece()
        text, self._rest = self._rest[: int(length)], self._rest[int(length) :]
        return json.loads(text)

    def _piece(self) -> bytes:
        piece = self._socket.recv(1 << 16)
        if not piece:
            raise RuntimeError("the browser went away")
        return piece


class WebKitTab(_Tab):
    """WebKit's small browser, on the screen there is or on one that nobody sees."""

    def __init__(self, profile: Path, width: int = 500, height: int = 740):
        environment = {**os.environ, "HOME": str(profile), "WEBKIT_DISABLE_COMPOSITING_MODE": "1"}
        self._screen = None
        if not os.environ.get("DISPLAY"):
            ready, tell = os.pipe()
            self._screen = subprocess.Popen(
                ["Xvfb", "-displayfd", str(tell), "-screen", "0", "1600x1400x24", "-nolisten", "tcp"],
                pass_fds=[tell], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            )  # fmt: skip
            os.close(tell)
            with os.fdopen(ready) as told:
                environment["DISPLAY"] = f":{told.readline().strip()}"
        profile.mkdir(parents=True, exist_ok=True)
        with socket.socket() as free:
            free.bind(("127.0.0.1", 0))
            port = free.getsockname()[1]
        self._base = f"http://127.0.0.1:{port}"
        self._process = subprocess.Popen(
            [str(_DRIVER), f"--port={port}"], env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        )
        options = {"binary": str(_BROWSER), "args": ["--automation"]}
        asked = {"capabilities": {"alwaysMatch": {"webkitgtk:browserOptions": options}}}
        found = _once_it_listens(lambda: self._http("POST", "/session", asked), self._process)
        self._base += f"/session/{found['sessionId']}"
        self.size(width, height)

    def __enter__(self) -> WebKitTab:
        return self

    def __exit__(self, *_: object) -> None:
        with suppress(Exception):
            self._http("DELETE", "", None)
        for process in (self._process, self._screen):
            if process:
                process.terminate()
                process.wait()

    def _command(self, name: str, method: str, path: str, body: dict) -> object:
        return self._http(method, f"/{path}", body if method == "POST" else None)

    def _http(self, method: str, path: str, body: dict | None) -> object:
        data = None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(self._base + path, data, {"Content-Type": "application/json"}, method=method)
        try:
            with urllib.request.urlopen(request, timeout=120) as answer:
                return json.load(answer)["value"]
        except urllib.error.HTTPError as error:
            raise RuntimeError(f"{path}: {error.read().decode()[:400]}") from error


def _once_it_listens(connect: Callable[[], object], process: subprocess.Popen) -> object:
    """What a connection answers, as soon as the browser that starts takes one."""
    for _ in range(_TRIES):
        with suppress(OSError):
            return connect()
        if process.poll() is not None:
            break
        time.sleep(0.1)
    process.kill()
    process.wait()
    raise RuntimeError("the browser does not listen")
