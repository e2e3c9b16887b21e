"""What is wrong with a value that somebody handed in, and where it stands."""

from __future__ import annotations

from dataclasses import dataclass

Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Fault:
    """The path of the field that is wrong, and why, in words that say how to mend it."""

    path: Path
    why: str

    @property
    def field(self) -> str:
        """The field as people say it: ("cues", 1) is "cues, no. 2"."""
        parts = [f"no. {part + 1}" if isinstance(part, int) else part.replace("_", " ") for part in self.path]
        return ", ".join(parts)
