"""How a worker's main process tells its children, in the middle of their work, that it is time to go.

The pool's children are forked, so a page of memory mapped here before the fork is one page for all. A lock
or an event of multiprocessing would hang if its holder were killed; a byte cannot.
"""

from __future__ import annotations

import mmap

_word = mmap.mmap(-1, 1)


def ask() -> None:
    """The main process wants everybody to end."""
    _word[0] = 1


def asked() -> bool:
    return _word[0] == 1
