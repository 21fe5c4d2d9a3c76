"""The microphone: the only place where sound comes in, from a device or from a WAV file, as frames."""

from __future__ import annotations

__all__: list[str] = []
