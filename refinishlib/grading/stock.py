"""Grading the stock way: nbgrader executes the notebook, and the kernel is told whose it is."""

from __future__ import annotations

import os
from typing import Any

from nbgrader.preprocessors import Execute

from refinishlib.course.apprentice import HANDED_OVER_IN


class ExecuteForApprentice(Execute):
    """nbgrader's own execution, with the apprentice's id handed to the kernel and taken back afterwards."""

    def preprocess(self, nb: Any, resources: Any, **more: Any) -> Any:
        before = os.environ.get(HANDED_OVER_IN)
        os.environ[HANDED_OVER_IN] = str(resources["nbgrader"]["student"])
        try:
            return super().preprocess(nb, resources, **more)
        finally:
            if before is None:
                del os.environ[HANDED_OVER_IN]
            else:
                os.environ[HANDED_OVER_IN] = before
