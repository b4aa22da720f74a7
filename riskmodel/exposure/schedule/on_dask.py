"""Reads a schedule by the workers of a Dask cluster: the same function on the same stretches, and the same answer.

The optional extra ``dask``. Workers must see the schedule's folder and the folder of the lookups under the same path.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from functools import partial
from typing import Any

from riskmodel.errors import ParameterError
from riskmodel.exposure.schedule.running import Runner

# Answers that wait for their turn, for each thread of the cluster: more would only fill memory.
AHEAD = 2
# How long a scheduler may take to answer.
PATIENCE = "10s"


@contextmanager
def by_cluster(address: str) -> Iterator[Runner]:
    """A runner on the cluster whose scheduler is at ``address``, such as tcp://10.0.0.5:8786.

    Raises
    ------
    ParameterError
        Where the extra is not installed, or nobody answers at the address.
    """
    try:
        from distributed import Client
    except ImportError:
        raise ParameterError("a Dask cluster needs the extra dask: pip install 'riskmodel[dask]'") from None
    try:
        client: Any = Client(address, timeout=PATIENCE)  # type: ignore[no-untyped-call]  # the library has no types
    except (OSError, ValueError) as error:
        raise ParameterError(f"no Dask scheduler answers at {address}: {error}") from None
    try:
        yield partial(_mapped, client)
    finally:
        client.close()


def _mapped(
    client: Any, function: Callable[..., Any], given: tuple[Any, ...], stretches: Sequence[Any]
) -> Iterator[Any]:
    """Answers in the stretches' order, whichever worker has them first."""
    work = partial(function, *given)
    threads = max(sum(client.nthreads().values()), 1)
    waiting: list[Any] = []
    rest = iter(stretches)
    for each in rest:
        waiting.append(client.submit(work, each, pure=False))
        if len(waiting) >= AHEAD * threads:
            break
    while waiting:
        yield waiting.pop(0).result()
        waiting += [client.submit(work, each, pure=False) for each in _next(rest)]


def _next(rest: Iterator[Any]) -> list[Any]:
    return [each for _, each in zip(range(1), rest, strict=False)]
