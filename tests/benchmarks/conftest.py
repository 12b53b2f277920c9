"""The course folders of tests/shared/classrooms.py, as fixtures."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "shared"))

from classrooms import back_home, classroom, fresh_course, two_classrooms  # noqa: F401
