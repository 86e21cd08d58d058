"""Writing what the science says as sentences."""
from __future__ import annotations


def sentence(text: str | None) -> str:
    """Begin a text with a capital; without a text there is none."""
    return f"{text[:1].upper()}{text[1:]}" if text else ""
