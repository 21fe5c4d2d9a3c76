"""What a tab of any browser is asked alike: to wait, to tell what is shown, and where a button lies."""

from __future__ import annotations

import json

__all__ = ["PageTab"]


class PageTab:
    """A tab with a page in it; each browser says how an expression is run there."""

    def run(self, expression: str) -> object:
        """The value of an expression in the page."""
        raise NotImplementedError

    def until(self, expression: str, tries: int = 400) -> None:
        """Wait until an expression is true in the page."""
        for _ in range(tries):
            if self.run(f"new Promise(done => setTimeout(() => done(Boolean({expression})), 10))"):
                return
        raise AssertionError(f"never true: {expression}")

    def text(self) -> str:
        """All that is shown."""
        return str(self.run("document.body.innerText"))

    def middle_of(self, words: str) -> tuple[float, float]:
        """The middle of the button that begins with these words, brought into sight, in pixels of the window."""
        found = self.run(
            "(() => { const one = [...document.querySelectorAll('button,summary')]"
            f".find(each => each.innerText.trim().startsWith({json.dumps(words)}));"
            "if (!one) return null; one.scrollIntoView({block: 'nearest'}); const box = one.getBoundingClientRect();"
            "return [box.x + box.width / 2, box.y + box.height / 2]; })()"
        )
        assert isinstance(found, list), f"no button {words!r} among: {self.text()}"
        x, y = found
        return x, y
