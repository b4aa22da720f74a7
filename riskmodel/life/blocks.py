"""Long arrays a block at a time: what a step forms stays in the processor's cache, and two steps run abreast."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

Found = TypeVar("Found")

# Rows a step: half a megabyte a column of floats.
BLOCK = 2**16
# numpy lets go of the interpreter inside its loops, so that steps in threads really run abreast.
WORKERS = 2


def each_block(step: Callable[[slice], Found], length: int) -> Iterator[Found]:
    """What ``step`` finds in each block of ``length`` rows, in the order of the blocks on any machine.

    A step that raises does so in its turn, so that the first bad block is the one reported.
    """
    blocks = [slice(start, min(start + BLOCK, length)) for start in range(0, length, BLOCK)]
    if len(blocks) <= WORKERS:
        yield from map(step, blocks)
        return
    with ThreadPoolExecutor(WORKERS) as workers:
        yield from workers.map(step, blocks)
