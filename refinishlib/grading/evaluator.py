"""A worker process held ready, with a time limit. A worker that hangs or dies is replaced by a fresh one."""

from __future__ import annotations

import atexit
import contextlib
import json
import os
import queue
import subprocess
import sys
import tempfile
import threading
from typing import Any

from refinishlib.course.folder import course_folder

START_SECONDS = 60.0
LIMIT_SECONDS = 20.0

Outcomes = dict[str, dict[str, Any]]


class NotEvaluated(Exception):
    """The worker took too long, died, or could not be started. Its text says which."""


class Evaluator:
    """One persistent worker. Use from one thread at a time.

    limit_s : seconds for one notebook
    """

    def __init__(self, limit_s: float = LIMIT_SECONDS):
        self.limit_s = limit_s
        self._process: subprocess.Popen[str] | None = None
        self._lines: queue.Queue[str] = queue.Queue()
        self._folder = tempfile.TemporaryDirectory(prefix="refinish-marking-")

    def __call__(self, apprentice: str, steps: list[dict[str, Any]]) -> Outcomes:
        """The outcomes of one notebook's checks, see :func:`refinishlib.grading.worker.evaluate`.

        Raises
        ------
        NotEvaluated : no answer within the time limit
        """
        process = self._running()
        try:
            assert process.stdin is not None
            request = {"apprentice": apprentice, "steps": steps, "course": str(course_folder())}
            process.stdin.write(json.dumps(request) + "\n")
            process.stdin.flush()
            return json.loads(self._line(self.limit_s))
        except (OSError, ValueError) as error:
            self.stop()
            raise NotEvaluated("the marking process ended unexpectedly") from error
        except NotEvaluated:
            self.stop()
            raise

    def stop(self) -> None:
        """End the worker; the next call starts a fresh one."""
        process, self._process = self._process, None
        if process is not None:
            process.kill()
            process.wait()
            for stream in (process.stdin, process.stdout):
                if stream is not None:
                    with contextlib.suppress(OSError):
                        stream.close()

    def close(self) -> None:
        """End the worker for good and remove its empty folder."""
        self.stop()
        self._folder.cleanup()

    def _running(self) -> subprocess.Popen[str]:
        if self._process is not None and self._process.poll() is None:
            return self._process
        self.stop()
        self._lines = queue.Queue()
        environment = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "REFINISH"))}
        self._process = subprocess.Popen(
            [sys.executable, "-I", "-X", "utf8", "-m", "refinishlib.grading.worker"],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            cwd=self._folder.name,
            env=environment,
            text=True,
            encoding="utf-8",
        )
        threading.Thread(target=_pump, args=(self._process, self._lines), daemon=True).start()
        try:
            self._line(START_SECONDS)
        except NotEvaluated:
            self.stop()
            raise NotEvaluated("the marking process could not be started") from None
        return self._process

    def _line(self, seconds: float) -> str:
        try:
            line = self._lines.get(timeout=seconds)
        except queue.Empty:
            raise NotEvaluated(f"the checks did not finish within {seconds:.0f} seconds") from None
        if not line:
            raise NotEvaluated("the marking process ended unexpectedly")
        return line


def _pump(process: subprocess.Popen[str], lines: queue.Queue[str]) -> None:
    assert process.stdout is not None
    with contextlib.suppress(OSError, ValueError):
        for line in process.stdout:
            lines.put(line)
    lines.put("")


_shared: Evaluator | None = None


def shared() -> Evaluator:
    """The one worker of this process, started when first used and ended with it."""
    global _shared
    if _shared is None:
        _shared = Evaluator()
        atexit.register(_shared.close)
    return _shared
