"""Files that were costly to make, kept under the name of everything that went into them.

What is kept can always be made again: the folder may be emptied at any time. Prints may hold names of players,
so they are their owner's only, and none outlives its last use by more than a month.
"""

from __future__ import annotations

import hashlib
import os
import tempfile
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from pathlib import Path

from django.conf import settings

ROOM = 64 * 1024 * 1024  # bytes; the files that were used longest ago go first
LIFE = 30 * 24 * 3600  # seconds after the last use


def kept(ingredients: Iterable[bytes], make: Callable[[], bytes], room: int = ROOM) -> bytes:
    """The file that these ingredients make, from the folder if it has been made before."""
    file = folder() / name_of(ingredients)
    with suppress(FileNotFoundError):
        content = file.read_bytes()
        os.utime(file)
        return content
    content = make()
    with suppress(OSError):  # on a full disk the print is there all the same
        write(file, content)
        tidy(room)
    return content


def folder() -> Path:
    found = Path(settings.VAR_DIR) / "prints"
    found.mkdir(mode=0o700, exist_ok=True)
    return found


def name_of(ingredients: Iterable[bytes]) -> str:
    """Each ingredient counts with its length, so that no two lists run together to the same name."""
    digest = hashlib.sha256()
    for each in ingredients:
        digest.update(len(each).to_bytes(8, "big"))
        digest.update(each)
    return digest.hexdigest()


def write(file: Path, content: bytes) -> None:
    """Whole or not at all, whoever else writes or reads it; only its owner may read it."""
    handle, name = tempfile.mkstemp(dir=file.parent)
    with os.fdopen(handle, "wb") as part:
        part.write(content)
    os.replace(name, file)


def tidy(room: int, life: float = LIFE) -> None:
    """Remove what was not used for `life` seconds, and what was used longest ago until the rest fits `room` bytes."""
    oldest = time.time() - life
    for used, size, file in sorted(files(), reverse=True):
        room -= size
        if room < 0 or used < oldest:
            file.unlink(missing_ok=True)


def files() -> Iterator[tuple[float, int, Path]]:
    """When each was last used, and how large it is."""
    for file in folder().iterdir():
        with suppress(FileNotFoundError):  # another process may tidy too
            found = file.stat()
            yield found.st_mtime, found.st_size, file
