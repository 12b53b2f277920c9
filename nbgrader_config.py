"""nbgrader's settings for the course.

Classes are named by dotted strings and nothing of ours is imported here: an error in this file would make nbgrader
go on with its own settings and execute what was handed in. A wrong dotted string stops it instead.
"""

c = get_config()  # noqa: F821

c.CourseDirectory.course_id = "refinishing"
c.CourseDirectory.source_directory = "solutions"
c.CourseDirectory.release_directory = "lessons"

# An unanswered cell stays as the lesson's author wrote it: `name = ...`, which the checks answer with a sentence.
c.ClearSolutions.code_stub = {"python": ""}
c.ClearSolutions.text_stub = "*Write your answer here.*"

c.Autograde.autograde_preprocessors = [
    "refinishlib.course.grading.stock.ExecuteForApprentice",
    "nbgrader.preprocessors.LimitOutput",
    "nbgrader.preprocessors.SaveAutoGrades",
    "nbgrader.preprocessors.AssignLatePenalties",
    "nbgrader.preprocessors.CheckCellMetadata",
]
