"""Marking a class inside nbgrader without running anything that an apprentice typed.

What stands guard, in the order in which a submission meets it:

1.  ``guard`` proves, before anything is graded by any way in, that the whole chain which will run is the course's own,
    and refuses otherwise. It is hung in from outside ``nbgrader_config.py``, which can be broken; ``borrowed`` lists
    what it leans on.
2.  ``sanitize.SubmissionExporter`` is made before nbgrader looks at the first submission. It leaves folders alone that
    are nobody's id, and sweeps the others. ``pre_convert_hook`` sweeps each again.
3.  ``handedin.sweep`` moves aside, without opening or following: links, pipes and other special files, folders, extra
    files, times of handing in that can't be read. Aside is ``set_aside/``, which no page serves.
4.  ``handedin.read_notebook`` looks at kind and size before it reads, reads JSON, and takes from it only texts by grade
    id and pasted pictures that are pictures. What can't be read becomes an empty submission that says why.
5.  ``sanitize.Rebuild`` starts from the released lesson and copies only the texts of the answer cells into it; the last
    copy of a cell counts and is flagged. Checks, points and metadata come from the grade book's record. Every check
    starts as an error output; a check that was deleted scores 0.
6.  ``course.answers.read_cell`` reads a cell as a syntax tree, within bounds on size, depth, magnitude and exponent.
    What is not data is code: it is not run, its question scores 0, and a human is asked.
7.  ``worker`` runs the recorded checks in a process of its own, started with ``-I`` in an empty folder, with a time
    limit. Only a plain float from 0 to the maximum counts; all else is an error and is flagged.
8.  ``mark.SaveScores`` saves scores and then flags, in one transaction. ``ledger`` notes the submission after that.
9.  ``clean.markdown2html`` lets nothing run, load, or carry a name that the formgrader's scripts look for.
10. ``feedback`` builds the apprentice's page from the released lesson again, with sentences worked out anew.
"""
