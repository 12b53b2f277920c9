"""``refinish nbgrader ...``: nbgrader's own commands, in the course's folder and with its programs at hand.

nbgrader calls another program by name when it makes a grade book, so it fails when it is started by its path alone.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
from pathlib import Path


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("words", nargs=argparse.REMAINDER, help="what you would type after nbgrader")


def run(arguments: argparse.Namespace) -> int:
    return subprocess.run([Path(sys.executable).parent / "nbgrader", *arguments.words], check=False).returncode
