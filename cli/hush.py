"""Keeps what other libraries would say to a programmer off the screen of whoever runs the command."""

from __future__ import annotations

import os
import sys
import warnings


def hush_libraries() -> None:
    """For the rest of this process and those it starts: no warning and no log line of any library on stderr.

    What a reader should know, the answer says in its own words. Whoever asks Python for warnings (``-W``,
    PYTHONWARNINGS) sees them.
    """
    import logging

    # A handler that does nothing stands in for the one of last resort, which prints.
    logging.getLogger().addHandler(logging.NullHandler())
    if not sys.warnoptions:
        warnings.simplefilter("ignore")
        os.environ["PYTHONWARNINGS"] = "ignore"
