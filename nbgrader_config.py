"""nbgrader's settings for the course.

Classes are named by dotted strings and nothing of ours is imported here. An error in this file makes nbgrader go on
with settings of its own, which execute what was handed in; refinishlib/grading/guard.py then refuses to grade.

To grade the stock way, which executes the apprentices' notebooks: set REFINISH_GRADING=stock for that one command.
"""

import importlib.util
import os
from pathlib import Path

c = get_config()  # noqa: F821

c.CourseDirectory.course_id = "refinishing"
c.CourseDirectory.source_directory = "solutions"
c.CourseDirectory.release_directory = "lessons"

# An unanswered cell stays as the lesson's author wrote it: `name = ...`, which the checks answer with a sentence.
c.ClearSolutions.code_stub = {"python": ""}
c.ClearSolutions.text_stub = "*Write your answer here.*"

# Only the lesson's own plain files stay in a submission's folder, however it is graded.
c.Autograde.pre_convert_hook = "refinishlib.grading.sanitize.move_aside"
# Whoever grades, the ledger knows: which skills, which mistakes, and what needs a human.
c.Autograde.post_convert_hook = "refinishlib.grading.sanitize.note"

if os.environ.get("REFINISH_GRADING") == "stock":
    c.Autograde.autograde_preprocessors = [
        "refinishlib.grading.stock.ExecuteForApprentice",
        "nbgrader.preprocessors.LimitOutput",
        "nbgrader.preprocessors.SaveAutoGrades",
        "nbgrader.preprocessors.AssignLatePenalties",
        "nbgrader.preprocessors.CheckCellMetadata",
    ]
else:
    c.Autograde.exporter_class = "refinishlib.grading.sanitize.SubmissionExporter"
    c.Autograde.sanitize_preprocessors = ["refinishlib.grading.sanitize.Rebuild"]
    c.Autograde.autograde_preprocessors = [
        "refinishlib.grading.mark.Evaluate",
        "refinishlib.grading.mark.SaveScores",
        "nbgrader.preprocessors.AssignLatePenalties",
    ]

# What an apprentice gets back, and what an instructor reads: nothing in it runs, and formulas need no network.
c.GenerateFeedback.pre_convert_hook = "refinishlib.grading.feedback.move_aside"
c.GenerateFeedback.exporter_class = "refinishlib.grading.feedback.FeedbackExporter"
c.GenerateFeedback.preprocessors = []
c.HTMLExporter.filters = {"markdown2html": "refinishlib.grading.clean.markdown2html"}
c.HTMLExporter.extra_template_basedirs = [
    str(Path(place) / inside)
    for package, inside in (
        ("refinishlib", "grading/templates"),
        ("nbgrader", "server_extensions/formgrader/templates"),
    )
    for place in getattr(importlib.util.find_spec(package), "submodule_search_locations", None) or ()
]
