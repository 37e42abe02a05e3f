"""Linear algebra on one thread."""

from contextlib import AbstractContextManager
from functools import cache
from typing import Any

from threadpoolctl import ThreadpoolController


def one_blas_thread() -> AbstractContextManager[Any]:
    """A context in which BLAS uses one thread.

    Products of a thousand rows by some tens of columns are too small to share: on a busy machine two threads took ten
    times as long as one.
    """
    return _loaded_libraries().limit(limits=1, user_api="blas")


@cache
def _loaded_libraries() -> ThreadpoolController:
    return ThreadpoolController()
