"""Answers, checks, grading and report: the only room that knows nbgrader."""
