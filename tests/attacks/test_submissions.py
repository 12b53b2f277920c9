"""The attack bank: hostile submissions, all in one class, graded both by `refinish grade` and by `nbgrader autograde`.

Each case says what it tries and what it may earn. Code that an apprentice typed would leave a canary: a file of the
case's own. No canary may exist after grading and feedback; the scores must be right; the honest must be graded.
"""

import copy
import gzip
import json
import os
import socket
import subprocess
import sys
import zlib
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

import pytest

from refinishlib.grading import classroom as grading
from refinishlib.grading import handin
from refinishlib.grading.ledger import Ledger

CHECK = "check-1-1"
ANSWER = "answer-1-1"


@dataclass(frozen=True)
class Attack:
    """One hostile submission.

    lay : puts it into the class, given the classroom, the apprentice and the canary's path
    lost : checks that must score 0; all others must score full marks
    """

    name: str
    tries: str
    lay: Callable
    lost: tuple[str, ...] = (CHECK,)
    scored: dict = field(default_factory=dict)


def types(text: str, answer: str = ANSWER) -> Callable:
    """An answer cell with this text; CANARY stands for the canary's path, RIGHT for the right answer."""

    def lay(room, who, canary):
        right = handin.texts("mixing", who)[answer].split(" = ", 1)[1]
        room.hand_in(who, {answer: text.replace("CANARY", str(canary)).replace("RIGHT", right)})

    return lay


def changes(change: Callable, cells: dict | None = None) -> Callable:
    """The honest notebook, changed by a function of the notebook and the canary's path."""

    def lay(room, who, canary):
        room.hand_in(who, cells, lambda notebook: change(notebook, canary) or notebook)

    return lay


def file(content: bytes | Callable) -> Callable:
    """Bytes in place of the notebook."""

    def lay(room, who, canary):
        path = room.hand_in(who)
        whole = path.read_bytes()
        path.write_bytes(content(whole) if callable(content) else content)

    return lay


def beside(do: Callable) -> Callable:
    """An honest notebook, and something done in its folder."""

    def lay(room, who, canary):
        path = room.hand_in(who)
        do(path.parent, room, canary)

    return lay


def instead(do: Callable) -> Callable:
    """Something in place of the notebook file."""

    def lay(room, who, canary):
        path = room.hand_in(who)
        path.unlink()
        do(path, room)

    return lay


def cell(notebook: dict, grade_id: str) -> dict:
    return next(c for c in notebook["cells"] if c["metadata"].get("nbgrader", {}).get("grade_id") == grade_id)


def with_about(grade_id: str, /, **about) -> Callable:
    return changes(lambda nb, canary: cell(nb, grade_id)["metadata"]["nbgrader"].update(about))


def with_source(grade_id: str, text: str, **cells: str) -> Callable:
    def change(notebook, canary):
        cell(notebook, grade_id)["source"] = text.replace("CANARY", str(canary))

    return changes(change, {name.replace("_", "-"): text for name, text in cells.items()})


WRONG = {ANSWER: "own_g = 0.1"}
TOUCH = "__import__('pathlib').Path('CANARY').touch()"
FAKE = [{"output_type": "execute_result", "execution_count": 1, "metadata": {}, "data": {"text/plain": "3.0"}}]


def copied(notebook, grade_id, text=None, first=False):
    twin = copy.deepcopy(cell(notebook, grade_id))
    if text is not None:
        twin["source"] = text
    notebook["cells"].insert(0 if first else len(notebook["cells"]), twin)


def old_format(notebook, canary):
    cells = [{**c, "input": c["source"]} if c["cell_type"] == "code" else c for c in copy.deepcopy(notebook["cells"])]
    for one in cells:
        one.pop("source", None) if one["cell_type"] == "code" else None
    return {"nbformat": 3, "nbformat_minor": 0, "metadata": {}, "worksheets": [{"cells": cells, "metadata": {}}]}


def forged_outcomes(notebook, canary):
    notebook["metadata"]["refinish"] = {"outcomes": {CHECK: {"points": 3.0, "sentences": [], "flag": "", "error": ""}}}


def whole_folder_is_a_link(room, who, canary):
    room.hand_in("neighbour")
    (room.root / "submitted" / who).mkdir(parents=True)
    (room.root / "submitted" / who / "mixing").symlink_to("../neighbour/mixing")


def someone_elses(room, who, canary):
    room.hand_in(who, handin.texts("mixing", "neighbour"))


def sparse_200_mb(path, room):
    with path.open("wb") as out:
        out.truncate(200_000_000)


def shadow(name: str) -> Callable:
    return beside(lambda folder, room, canary: (folder / name).write_text(TOUCH.replace("CANARY", str(canary))))


def written(encoding: str, mark: bytes = b"") -> Callable:
    """The honest notebook saved in another encoding."""
    return file(lambda whole: mark + json.dumps(json.loads(whole), ensure_ascii=False).encode(encoding))


def source(value: object) -> Callable:
    """An answer cell whose source is this value instead of a text; RIGHT and CANARY stand for themselves inside."""

    def lay(room, who, canary):
        right = handin.texts("mixing", who)[ANSWER].split(" = ", 1)[1]
        typed = json.dumps(value).replace("CANARY", str(canary)).replace("RIGHT", right)
        room.hand_in(who, None, lambda nb: cell(nb, ANSWER).update(source=json.loads(typed)) or nb)

    return lay


def everywhere(**parts: object) -> Callable:
    """Every cell of the honest notebook with these keys forged."""
    return changes(lambda nb, canary: [one.update(copy.deepcopy(parts)) for one in nb["cells"]] and None)


def about_notebook(**metadata: object) -> Callable:
    return changes(lambda nb, canary: nb["metadata"].update(copy.deepcopy(metadata)))


def twice(first: bool) -> Callable:
    """JSON in which the list of cells stands twice; a reader takes the last."""
    extra = b'"cells": [], '
    return file(lambda whole: b"{" + extra + whole[1:] if first else whole[:-1] + b', "cells": []}')


def twice_in_a_cell(whole: bytes) -> bytes:
    nb = json.loads(whole)
    cell(nb, ANSWER)["source"] = "SECOND"
    return json.dumps(nb).encode().replace(b'"source": "SECOND"', b'"source": "own_g = 0.1", "source": "open(1)"')


def second_sheet(notebook, canary):
    return {"nbformat": 3, "metadata": {}, "worksheets": [{"cells": []}, {"cells": notebook["cells"]}]}


def own_text_cell(notebook, canary):
    about = {"grade": False, "solution": True, "locked": False, "schema_version": 3, "task": False, "grade_id": ANSWER}
    notebook["cells"].append({"cell_type": "markdown", "metadata": {"nbgrader": about}, "source": "That is it."})


def link_to_book(path, room):
    os.link(room.root / "gradebook.db", path)


def socket_beside(folder, room, canary):
    here = Path.cwd()
    os.chdir(folder)  # a socket's path may not be long
    with socket.socket(socket.AF_UNIX) as one:
        one.bind("s")
    os.chdir(here)


def forged_checksums(notebook, canary):
    for one in notebook["cells"]:
        if "nbgrader" in one["metadata"]:
            one["metadata"]["nbgrader"]["checksum"] = "0" * 32


def check_as_answer(notebook, canary):
    cell(notebook, CHECK).update(source=TOUCH.replace("CANARY", str(canary)) + "\n3.0")
    cell(notebook, CHECK)["metadata"]["nbgrader"].update(solution=True, locked=False)


def flood(notebook, canary):
    notebook["cells"] += [copy.deepcopy(cell(notebook, ANSWER)) for _ in range(4_900)]


def pictures(notebook, canary):
    cell(notebook, "written-1")["attachments"] = {
        "../../x.png": {"image/png": "iVBORw0KGgo="},
        "a.svg": {"image/svg+xml": "PHN2ZyBvbmxvYWQ9YWxlcnQoMSk+"},
        "b.png": {"image/png": "PHNjcmlwdD4="},
        "c.png": ["image/png"],
        **{f"{number}.png": {"image/png": "iVBORw0KGgo="} for number in range(1_000)},
    }


BOMBS = {
    "hex": "own_g = 0x" + "f" * 40_000,
    "plus": "own_g = " + "1+" * 20_000 + "1",
    "dots": "own_g = a" + ".b" * 15_000,
    "calls": "own_g = " + "f(" * 90 + ")" * 90,
    "nots": "own_g = " + "not " * 9_000 + "1",
    "shift": "own_g = 1 << 10 ** 9",
    "percent": "own_g = '%1000000000d' % 1",
    "just": "own_g = 'a'.ljust(10 ** 9)",
    "round": "own_g = round(5, -10 ** 7)",
    "range": "own_g = sum(range(10 ** 10))",
    "factorial": "own_g = 2 ** 2 ** 2 ** 2 ** 2 ** 2",
    "names": "\n".join(f"a{n} = a{n - 1} * a{n - 1}" if n else "a0 = 9" for n in range(60)) + "\nown_g = a59",
    "commas": "own_g = [" + "1," * 24_000 + "]",
    "lines": "own_g = RIGHT\n" * 3_000,
    "nested-f": "own_g = " + "f'{" * 60 + "1" + "}'" * 60,
}

EVERY = "every"  # stands for all checks
NOT_MINE: tuple[str, ...] = ()

ATTACKS = [
    # Code in an answer cell
    Attack("shell", "runs a shell command", types("!touch CANARY\nown_g = RIGHT")),
    Attack("shell-value", "takes an answer from a shell command", types("own_g = !touch CANARY")),
    Attack("line-magic", "runs a line magic", types("%system touch CANARY\nown_g = RIGHT")),
    Attack("cell-magic", "runs a cell magic", types("%%bash\ntouch CANARY")),
    Attack("ipython", "reaches for the shell object", types("get_ipython().system('touch CANARY')\nown_g = RIGHT")),
    Attack("import", "imports a module by function", types(f"own_g = {TOUCH}")),
    Attack("import-line", "imports a module by statement", types("import pathlib\npathlib.Path('CANARY').touch()")),
    Attack("star-import", "imports everything from a module", types("from os import *\nown_g = RIGHT")),
    Attack("open", "opens a file for writing", types("open('CANARY', 'w')\nown_g = RIGHT")),
    Attack("exec", "builds code from text", types(f'exec("{TOUCH}")\nown_g = RIGHT')),
    Attack("lambda", "calls a function without a name", types(f"own_g = (lambda: {TOUCH})()")),
    Attack("comprehension", "hides a call in a list", types(f"own_g = [{TOUCH} for _ in (1,)]")),
    Attack("f-string", "hides a call in a text", types(f'own_g = f"{{{TOUCH}}}"')),
    Attack("walrus", "assigns inside an expression", types(f"own_g = (x := {TOUCH})")),
    Attack("class-body", "runs code while defining a class", types(f"class A:\n    {TOUCH}\nown_g = RIGHT")),
    Attack("decorator", "runs code while decorating", types("@print\ndef f(): pass\nown_g = RIGHT")),
    Attack("try", "hides code in a try", types(f"try:\n    {TOUCH}\nexcept Exception:\n    own_g = RIGHT")),
    Attack("subclasses", "climbs from a tuple to all classes", types("own_g = ().__class__.__base__.__subclasses__()")),
    Attack("coding-line", "declares another encoding", types("# -*- coding: utf-7 -*-\n+AAo-" + TOUCH)),
    Attack("semicolon", "puts code after an answer", types(f"own_g = RIGHT; {TOUCH}")),
    # Tricks with values and names
    Attack("monkeypatch", "replaces the check's function", types(
        "import refinishlib.course.check as c\nc.mark = lambda *a: 3.0\nown_g = 1")),
    Attack("builtins", "replaces a builtin", types("__builtins__ = {}\nown_g = RIGHT")),
    Attack("named-check", "calls an answer check", types("check = 3\nown_g = RIGHT"), lost=()),
    Attack("equals-all", "an object that equals everything", types(
        "class A(float):\n    def __eq__(s, o): return True\nown_g = A(1)")),
    Attack("prints-a-number", "an object that prints as full marks", types(
        "class A:\n    def __repr__(s): return '3.0'\nown_g = A()")),
    Attack("environment", "changes the id that the grader handed over", types(
        "import os\nos.environ['REFINISH_APPRENTICE'] = 'neighbour'\nown_g = RIGHT")),
    Attack("infinity", "a number without end", types("own_g = 1e999")),
    Attack("not-a-number", "a number that is none", types("own_g = 1e999 - 1e999")),
    Attack("true", "a yes in place of a number", types("own_g = True")),
    Attack("look-alike", "a Greek letter in the name", types("\u03bfwn_g = RIGHT")),
    Attack("wide-letters", "wide letters, which Python reads as plain ones", types("\uff4fwn_g = RIGHT"), lost=()),
    Attack("backwards", "a mark that turns the line around", types("own_g = RIGHT  # \u202e 3.0 = g_nwo"), lost=()),
    Attack("null", "a null letter", types("own_g = RIGHT\0")),
    Attack("surrogate", "half a letter", types("own_g = RIGHT  # \ud800"), lost=()),
    Attack("hidden-tests", "the hidden tests' markers in an answer", types(
        "### BEGIN HIDDEN TESTS\nown_g = RIGHT\n### END HIDDEN TESTS"), lost=()),
    Attack("solution-marks", "the solution's markers in an answer", types(
        "### BEGIN SOLUTION\nown_g = RIGHT"), lost=()),
    # Bombs
    Attack("brackets", "a hundred thousand brackets", types("own_g = " + "[" * 100_000)),
    Attack("signs", "thousands of minus signs", types("own_g = " + "-" * 5_000 + "1")),
    Attack("digits", "an integer of a million digits", types("own_g = " + "9" * 1_000_000)),
    Attack("exponent", "a tower of powers", types("own_g = 9 ** 9 ** 9 ** 9")),
    Attack("long-list", "a list of a billion", types("own_g = [0] * 10 ** 9")),
    Attack("long-text", "a text of a billion letters", types("own_g = 'a' * 10 ** 9")),
    Attack("doubling", "a list that doubles thirty times", types(
        "a = [0, 0]\n" + "\n".join("a = [a, a]" for _ in range(30)) + "\nown_g = a")),
    Attack("deep-dict", "a table in a table in a table", types("own_g = " + "{1: " * 90 + "2" + "}" * 90)),
    # Check cells
    Attack("check-replaced", "the check's source replaced by full marks", with_source(
        CHECK, "3.0", answer_1_1="own_g = 0.1")),
    Attack("check-code", "code in a check cell", with_source(CHECK, TOUCH + "\n3.0", answer_1_1="own_g = 0.1")),
    Attack("set-up-code", "code in the set-up cell", with_source("set-up", TOUCH), lost=()),
    Attack("check-deleted", "a deleted check, which stock nbgrader never marks", changes(
        lambda nb, canary: nb["cells"].remove(cell(nb, CHECK)))),
    Attack("answer-deleted", "a deleted answer cell", changes(lambda nb, canary: nb["cells"].remove(cell(nb, ANSWER)))),
    Attack("check-copied", "a copied check with another source", changes(
        lambda nb, canary: copied(nb, CHECK, "3.0"), WRONG)),
    Attack("answer-copied", "a copied answer: the last one counts", changes(
        lambda nb, canary: copied(nb, ANSWER, "own_g = 0.1"))),
    Attack("answer-copied-above", "a copied answer above the real one", changes(
        lambda nb, canary: copied(nb, ANSWER, "own_g = 0.1", first=True)), lost=()),
    Attack("fake-output", "an output of full marks in a check", changes(
        lambda nb, canary: cell(nb, CHECK).update(outputs=FAKE), WRONG)),
    Attack("fake-outcome", "marks in the notebook's metadata", changes(forged_outcomes, WRONG)),
    Attack("cells-swapped", "a check above its answer", changes(
        lambda nb, canary: nb["cells"].insert(0, nb["cells"].pop(nb["cells"].index(cell(nb, CHECK))))), lost=()),
    Attack("no-cells", "a notebook without cells", changes(lambda nb, canary: {**nb, "cells": []}), lost=EVERY),
    # Metadata
    Attack("points", "a check worth a thousand points", with_about(CHECK, points=1000), lost=()),
    Attack("points-text", "points that are no number", with_about(CHECK, points="many"), lost=()),
    Attack("schema-new", "a schema version from the future", with_about(ANSWER, schema_version=99), lost=()),
    Attack("schema-old", "a schema version from the past", with_about(ANSWER, schema_version=0), lost=()),
    Attack("schema-text", "a schema version that is no number", with_about(ANSWER, schema_version="x"), lost=()),
    Attack("not-a-check", "a check that says it is not graded", with_about(CHECK, grade=False), lost=()),
    Attack("by-hand", "a check that asks to be marked by hand", with_about(CHECK, solution=True), lost=()),
    Attack("two-checks", "an answer that calls itself a check", with_about(ANSWER, grade_id=CHECK, grade=True)),
    # An answer cell that lost its id counts as a cell of one's own: its value counts, and a human is asked.
    Attack("id-is-a-list", "an id that is a list", with_about(ANSWER, grade_id=[1]), lost=()),
    Attack("id-is-a-path", "an id that is a path", with_about(ANSWER, grade_id="../../gradebook")),
    Attack("about-empty", "empty grading metadata", changes(
        lambda nb, canary: cell(nb, ANSWER)["metadata"].update(nbgrader={})), lost=()),
    Attack("about-text", "grading metadata that is a text", changes(
        lambda nb, canary: cell(nb, ANSWER)["metadata"].update(nbgrader="x")), lost=()),
    Attack("metadata-list", "cell metadata that is a list", changes(
        lambda nb, canary: cell(nb, ANSWER).update(metadata=[])), lost=()),
    Attack("cell-is-text", "a cell that is a text", changes(lambda nb, canary: nb["cells"].insert(0, "x")), lost=()),
    Attack("source-is-number", "a source that is a number", changes(
        lambda nb, canary: cell(nb, ANSWER).update(source=7))),
    Attack("as-markdown", "an answer turned into text", changes(
        lambda nb, canary: cell(nb, ANSWER).update(cell_type="markdown")), lost=()),
    Attack("new-check", "a check of one's own, worth a hundred", changes(
        lambda nb, canary: nb["cells"].append({**copy.deepcopy(cell(nb, CHECK)), "metadata": {"nbgrader": {
            "grade": True, "grade_id": "check-9-9", "points": 100, "solution": False}}})), lost=()),
    Attack("kernel", "another kernel", changes(
        lambda nb, canary: nb["metadata"].update(kernelspec={"name": "../evil", "language": "bash"})), lost=()),
    Attack("widgets", "widget state with a script", changes(
        lambda nb, canary: nb["metadata"].update(
            widgets={"application/vnd.jupyter.widget-state+json": {"x": "</script><script>alert(1)</script>"}})),
        lost=()),
    # Formats and files
    Attack("old-format", "a notebook of format 3", changes(old_format), lost=()),
    Attack("new-format", "a notebook of format 99", changes(lambda nb, canary: {**nb, "nbformat": 99}), lost=()),
    Attack("no-format", "a notebook without a format", changes(
        lambda nb, canary: {"cells": nb["cells"]}), lost=()),
    Attack("cut-short", "a notebook cut short", file(lambda whole: whole[: len(whole) // 2]), lost=EVERY),
    Attack("empty", "an empty file", file(b""), lost=EVERY),
    Attack("garbage", "bytes that are no text", file(bytes(range(256)) * 40), lost=EVERY),
    Attack("a-list", "JSON that is a list", file(b"[1, 2]"), lost=EVERY),
    Attack("deep-json", "JSON of a hundred thousand brackets", file(b"[" * 100_000), lost=EVERY),
    Attack("long-number", "JSON with a number of a million digits", file(
        b'{"cells": [' + b"9" * 1_000_000 + b"]}"), lost=EVERY),
    Attack("many-cells", "a notebook of a hundred thousand cells", file(
        b'{"cells": [' + b"{}," * 100_000 + b"{}]}"), lost=EVERY),
    Attack("huge", "a notebook of 200 MB", instead(sparse_200_mb), lost=EVERY),
    Attack("link-solution", "a link to the solution", instead(
        lambda path, room: path.symlink_to(room.root / "solutions/mixing/mixing.ipynb")), lost=EVERY),
    Attack("link-grade-book", "a link to the grade book", instead(
        lambda path, room: path.symlink_to(room.root / "gradebook.db")), lost=EVERY),
    Attack("link-classmate", "a link to a classmate's notebook", instead(
        lambda path, room: path.symlink_to("../../a-first/mixing/mixing.ipynb")), lost=EVERY),
    Attack("link-folder", "the whole folder is a link", whole_folder_is_a_link, lost=EVERY),
    Attack("pipe", "a pipe that hangs who reads it", instead(lambda path, room: os.mkfifo(path)), lost=EVERY),
    Attack("folder-as-notebook", "a folder called like the notebook", instead(
        lambda path, room: path.mkdir()), lost=EVERY),
    Attack("pipe-timestamp", "a time of handing in that is a pipe", beside(
        lambda folder, room, canary: os.mkfifo(folder / "timestamp.txt")), lost=()),
    Attack("time-garbage", "a time of handing in that is none", beside(
        lambda folder, room, canary: (folder / "timestamp.txt").write_text("yesterday's ☂")), lost=()),
    Attack("time-far", "a time of handing in in the year 99999", beside(
        lambda folder, room, canary: (folder / "timestamp.txt").write_text("99999-01-01 00:00:00")), lost=()),
    Attack("page", "a page with a script beside the notebook", beside(
        lambda folder, room, canary: (folder / "a.html").write_text("<script>alert(1)</script>")), lost=()),
    Attack("picture", "a drawing with a script beside the notebook", beside(
        lambda folder, room, canary: (folder / "a.svg").write_text("<svg onload='alert(1)'/>")), lost=()),
    Attack("extra-link", "a link to the grade book beside the notebook", beside(
        lambda folder, room, canary: (folder / "notes.txt").symlink_to(room.root / "gradebook.db")), lost=()),
    Attack("sub-folder", "a folder with a link to the solutions", beside(
        lambda folder, room, canary: [(folder / "more").mkdir(), (folder / "more/x").symlink_to(room.root)]), lost=()),
    Attack("second-notebook", "a second notebook with code", beside(
        lambda folder, room, canary: (folder / "other.ipynb").write_text("{}")), lost=()),
    Attack("shadow-pathlib", "a pathlib.py of one's own", shadow("pathlib.py"), lost=()),
    Attack("shadow-library", "a refinishlib.py of one's own", shadow("refinishlib.py"), lost=()),
    Attack("shadow-site", "a sitecustomize.py of one's own", shadow("sitecustomize.py"), lost=()),
    Attack("shadow-settings", "an nbgrader_config.py of one's own", shadow("nbgrader_config.py"), lost=()),
    # Encodings and JSON that a careful reader gets right, and one that cannot be read
    Attack("mark-of-order", "a byte order mark before the JSON", written("utf-8", b"\xef\xbb\xbf"), lost=()),
    Attack("utf-16", "a notebook in UTF-16", written("utf-16"), lost=()),
    Attack("utf-32", "a notebook in UTF-32", written("utf-32-le"), lost=()),
    Attack("latin", "a letter of an old code page", file(
        lambda whole: whole.replace(b"own_g", b"\xe9wn_g", 1)), lost=EVERY),
    Attack("escapes", "an escape that is half a letter, in a name", file(
        lambda whole: whole.replace(b'"metadata"', b'"\\ud83d": 1, "metadata"', 1)), lost=()),
    Attack("cells-twice", "the list of cells twice, the empty one last", twice(first=False), lost=EVERY),
    Attack("cells-twice-first", "the list of cells twice, the empty one first", twice(first=True), lost=()),
    Attack("source-twice", "a source twice in one cell", file(twice_in_a_cell)),
    Attack("tail", "bytes after the end of the JSON", file(lambda whole: whole + b"\n{}"), lost=EVERY),
    Attack("single-quotes", "Python's own print of the notebook", file(
        lambda whole: repr(json.loads(whole)).encode()), lost=EVERY),
    Attack("zipped", "a zip under the notebook's name", file(
        lambda whole: b"PK\x03\x04" + zlib.compress(whole)), lost=EVERY),
    Attack("gzipped", "a packed notebook", file(lambda whole: gzip.compress(whole, mtime=0)), lost=EVERY),
    Attack("sign-in", "a school's sign-in page, saved instead", file(
        b"<!doctype html><script>location='x'</script>"), lost=EVERY),
    Attack("json-in-json", "a notebook as a text in JSON", file(
        lambda whole: json.dumps(whole.decode()).encode()), lost=EVERY),
    Attack("not-finite", "numbers that JSON does not have", changes(
        lambda nb, canary: cell(nb, ANSWER).update(source=float("nan"), execution_count=float("-inf")))),
    Attack("points-without-end", "points without end", with_about(CHECK, points=float("inf")), lost=()),
    Attack("format-huge", "a format number of four thousand digits", changes(
        lambda nb, canary: {**nb, "nbformat": 10 ** 4_000}), lost=()),
    Attack("cells-named", "cells by name instead of in a row", changes(
        lambda nb, canary: {**nb, "cells": dict(enumerate(nb["cells"]))}), lost=EVERY),
    Attack("cells-null", "no list of cells", changes(lambda nb, canary: {**nb, "cells": None}), lost=EVERY),
    Attack("second-sheet", "an old notebook with the answers on its second sheet", changes(second_sheet), lost=EVERY),
    # Sources
    Attack("source-nested", "a source of lists in lists", source([["own_g = RIGHT"]])),
    Attack("source-table", "a source that is a table", source({"text": "own_g = RIGHT"})),
    Attack("source-mixed", "a source with numbers between the lines", source(
        ["own_g = RIGHT\n", 7, None, {}]), lost=()),
    Attack("source-letters", "a source cut into single letters", changes(
        lambda nb, canary: cell(nb, ANSWER).update(source=list(cell(nb, ANSWER)["source"]))), lost=()),
    Attack("source-null", "a source that is null", source(None)),
    # Metadata and kinds of cells
    Attack("all-raw", "all cells turned into raw ones", everywhere(cell_type="raw"), lost=()),
    Attack("all-headings", "all cells turned into headings of an old format", everywhere(cell_type="heading", level=1),
           lost=()),
    Attack("kind-number", "a kind of cell that is a number", everywhere(cell_type=7), lost=()),
    Attack("outputs-table", "outputs that are a table", everywhere(outputs={"data": "3.0"}), lost=()),
    Attack("outputs-scores", "outputs of full marks in every cell", everywhere(outputs=FAKE * 50), lost=()),
    Attack("count-text", "an execution count that is code", everywhere(execution_count="__import__('os')"), lost=()),
    Attack("one-id", "one id for all cells", everywhere(id="a"), lost=()),
    Attack("ids-long", "cell ids of a thousand letters", everywhere(id="x/../" * 200), lost=()),
    Attack("attachments-list", "attachments that are a list", everywhere(attachments=["a"]), lost=()),
    Attack("attachments", "a thousand pictures, some of them none", changes(pictures), lost=()),
    Attack("language", "another language, with a path as its highlighter", about_notebook(
        language_info={"name": "bash", "pygments_lexer": "../../evil", "mimetype": "text/html"}), lost=()),
    Attack("parameters", "settings of other programs that run notebooks", about_notebook(
        papermill={"parameters": {"own_g": 3}}, jupytext={"cell_metadata_filter": "-all"}), lost=()),
    Attack("metadata-deep", "metadata four hundred deep", changes(
        lambda nb, canary: nb["metadata"].update(json.loads('{"a":' * 400 + "1" + "}" * 400))), lost=()),
    Attack("widget-flood", "a megabyte of widget state", about_notebook(
        widgets={"application/vnd.jupyter.widget-state+json": {"state": {"x": "y" * 1_000_000}}}), lost=()),
    Attack("checksums", "checksums that say that nothing was changed", changes(forged_checksums, WRONG)),
    Attack("check-as-answer", "a check that calls itself an answer and holds code", changes(check_as_answer, WRONG)),
    Attack("id-blank", "a blank behind the id of an answer", with_about(ANSWER, grade_id=f"{ANSWER} ")),
    Attack("id-capitals", "the id of an answer in capitals", with_about(ANSWER, grade_id=ANSWER.upper())),
    Attack("id-hyphens", "other hyphens in the id of an answer", with_about(ANSWER, grade_id="answer\u20111\u20111")),
    Attack("id-invisible", "an invisible letter in an answer's id", with_about(ANSWER, grade_id=f"{ANSWER}\u200b")),
    Attack("own-text-cell", "a text cell of one's own under an answer's id, last", changes(own_text_cell)),
    Attack("flood", "one answer four thousand nine hundred times", changes(flood), lost=()),
    # Letters
    Attack("invisible", "an invisible letter in a name", types("own\u200b_g = RIGHT")),
    Attack("quotes", "quotes of a word processor", types("own_g = \u201c7\u201d")),
    Attack("returns", "line ends of three kinds", types("# a\r\n# b\rown_g = RIGHT\r\n"), lost=()),
    Attack("accent", "a letter with its accent apart", types("o\u0301wn_g = RIGHT")),
    Attack("deletes", "an answer that is taken back", types("own_g = RIGHT\ndel own_g")),
    Attack("adds", "an answer that adds to itself", types("own_g = 0\nown_g += RIGHT")),
    Attack("matches", "code in a match", types("match RIGHT:\n    case own_g: " + TOUCH)),
    Attack("waits", "an answer that waits", types("own_g = await RIGHT")),
    Attack("unpacks", "an answer that unpacks a call", types(f"own_g = [*{TOUCH}]")),
    Attack("type-line", "a type that is a call", types(f"own_g: {TOUCH} = 1")),
    Attack("id-format", "an id that is a format", types('my_id = "{0.__class__}"', "answer-my-id"), lost=NOT_MINE),
    Attack("id-long", "an id of a thousand letters", types(
        'my_id = "' + "a" * 1_000 + '"', "answer-my-id"), lost=NOT_MINE),
    *(Attack(f"bomb-{name}", "work without end in one line", types(text)) for name, text in BOMBS.items()),
    # Files
    Attack("capital", "the notebook's name in capitals", instead(
        lambda path, room: (path.parent / "Mixing.ipynb").write_text("{}")), lost=EVERY),
    Attack("blank-behind", "a blank behind the notebook's name", instead(
        lambda path, room: (path.parent / "mixing.ipynb ").write_text("{}")), lost=EVERY),
    Attack("hard-link", "the grade book itself under the notebook's name", instead(link_to_book), lost=EVERY),
    Attack("link-round", "a link to itself", instead(lambda path, room: path.symlink_to(path.name)), lost=EVERY),
    Attack("link-nowhere", "a link to nowhere", instead(lambda path, room: path.symlink_to("/no/such")), lost=EVERY),
    Attack("link-device", "a link to a device without end", instead(
        lambda path, room: path.symlink_to("/dev/zero")), lost=EVERY),
    Attack("socket", "a socket beside the notebook", beside(socket_beside), lost=()),
    Attack("name-bytes", "a file name that is no text", beside(
        lambda folder, room, canary: Path(os.fsdecode(os.fsencode(folder) + b"/\xff\xfe.py")).write_text("1")),
        lost=()),
    Attack("name-lines", "a file name of several lines", beside(
        lambda folder, room, canary: (folder / "a\nb\r\x1b[2J.txt").write_text("1")), lost=()),
    Attack("name-long", "a file name as long as can be", beside(
        lambda folder, room, canary: (folder / ("n" * 255)).write_text("1")), lost=()),
    Attack("time-folder", "a time of handing in that is a folder", beside(
        lambda folder, room, canary: (folder / "timestamp.txt").mkdir()), lost=()),
    Attack("time-null", "a time of handing in with a null letter", beside(
        lambda folder, room, canary: (folder / "timestamp.txt").write_text("2026-01-01 10:00:00 UTC\0")), lost=()),
    Attack("time-month", "a time of handing in in month 13", beside(
        lambda folder, room, canary: (folder / "timestamp.txt").write_text("2026-13-41 25:61:00 UTC")), lost=()),
    Attack("time-endless", "a time of handing in of 50 MB", beside(
        lambda folder, room, canary: os.truncate(
            os.open(folder / "timestamp.txt", os.O_CREAT | os.O_WRONLY), 50_000_000)),
        lost=()),
    Attack("checkpoint", "a checkpoint with a link in it", beside(
        lambda folder, room, canary: [
            (folder / ".ipynb_checkpoints").mkdir(),
            (folder / ".ipynb_checkpoints/mixing-checkpoint.ipynb").symlink_to("/etc/passwd")]),
        lost=()),
    # Ids
    Attack("other-id", "a classmate's id and answers", someone_elses, lost=("check-2-1", "check-6-1"),
           scored={"check-7-1": 3.0}),
    Attack("id-number", "an id that is a huge number", types("my_id = 10 ** 90", "answer-my-id"), lost=()),
    Attack("id-table", "an id that is a table", types("my_id = {1: [2]}", "answer-my-id"), lost=()),
]  # fmt: skip

HONEST = ("a-first", "neighbour", "z-last")


def lay_all(room, canaries: Path) -> None:
    for who in HONEST:
        room.hand_in(who)
    for attack in ATTACKS:
        attack.lay(room, attack.name, canaries / attack.name)


# Feedback takes most of a second a page, so it is given to the kinds that could carry something along.
GIVEN_BACK = {
    *("a-first", "shell", "monkeypatch", "hidden-tests", "check-replaced", "check-code", "fake-output", "widgets"),
    *("new-check", "old-format", "cut-short", "extra-link", "other-id"),
}


def give_feedback(room) -> None:
    others = ",".join(({attack.name for attack in ATTACKS} | set(HONEST)) - GIVEN_BACK)
    done = room.nbgrader("generate_feedback", "mixing", f"--CourseDirectory.student_id_exclude={others}")
    assert done.returncode == 0, done.stderr[-2000:]


@dataclass(frozen=True)
class Graded:
    """One class after grading and feedback."""

    root: Path
    most: dict
    scores: dict


@pytest.fixture(scope="module")
def graded(two_classrooms, tmp_path_factory):
    """Both classes graded, with feedback given: by way of grading the scores, and the folder of canaries."""
    ours, stock_command = two_classrooms
    canaries = tmp_path_factory.mktemp("canaries")
    path, home = os.environ["PATH"], Path.cwd()
    os.environ["PATH"] = f"{Path(sys.executable).parent}{os.pathsep}{path}"
    lay_all(ours, canaries)
    lay_all(stock_command, canaries)
    [summary] = grading.grade(ours.root, "mixing")
    os.chdir(home)
    done = stock_command.nbgrader("autograde", "mixing")
    assert done.returncode == 0, done.stderr[-3000:]
    give_feedback(ours)
    os.environ["PATH"] = path
    rooms = {"refinish grade": ours, "nbgrader autograde": stock_command}
    return {way: Graded(room.root, room.most, room.scores()) for way, room in rooms.items()}, canaries, summary


@pytest.mark.parametrize("way", ["refinish grade", "nbgrader autograde"])
@pytest.mark.parametrize("attack", ATTACKS, ids=[attack.name for attack in ATTACKS])
def test_no_code_ran_and_the_score_is_right(graded, attack, way):
    rooms, canaries, _ = graded
    assert not (canaries / attack.name).exists()
    most = rooms[way].most
    lost = most if attack.lost == EVERY else attack.lost
    if attack.name == "other-id":
        expected = {check: 0.0 for check in attack.lost} | attack.scored
    else:
        expected = {check: 0.0 if check in lost else points for check, points in most.items()}
    scores = rooms[way].scores[attack.name]
    assert {check: scores[check][0] for check in expected} == expected


@pytest.mark.parametrize("way", ["refinish grade", "nbgrader autograde"])
def test_the_honest_are_graded_and_not_flagged(graded, way):
    rooms, canaries, _ = graded
    room = rooms[way]
    assert list(canaries.iterdir()) == []
    assert len(room.scores) == len(ATTACKS) + len(HONEST)
    for who in HONEST:
        assert {check: room.scores[who][check] for check in room.most} == {c: (p, False) for c, p in room.most.items()}


@pytest.mark.parametrize("way", ["refinish grade", "nbgrader autograde"])
@pytest.mark.parametrize("attack", ATTACKS, ids=[attack.name for attack in ATTACKS])
def test_every_loss_is_flagged_or_said_to_who_lost_it(graded, attack, way):
    room = graded[0][way]
    row = Ledger(room.root).rows["mixing", attack.name]
    for check in room.most if attack.lost == EVERY else attack.lost:
        _, flagged = room.scores[attack.name][check]
        outcome = row["outcomes"].get(check, {})
        assert flagged or outcome["sentences"], f"{check} is lost in silence"
        assert flagged or not (row["unreadable"] or outcome["flag"]), f"{check} needs a human, and nobody is asked"


def test_both_ways_leave_the_same_record(graded):
    ours, theirs = (Ledger(graded[0][way].root).rows for way in ("refinish grade", "nbgrader autograde"))
    assert set(ours) == set(theirs)
    assert len([row for row in ours.values() if row["outcomes"]]) > len(ATTACKS) / 2
    for key, row in ours.items():
        # A file that is missing is asked for in other words, and counts as new when it comes.
        alike = set(row) - ({"handed_in", "unreadable", "deleted"} if row["unreadable"] else {"deleted"})
        if key[1] in ("hard-link",):
            continue  # the link is to the class's own grade book
        assert {name: row[name] for name in alike} == {name: theirs[key].get(name) for name in alike}, key
        assert bool(row["unreadable"]) == bool(theirs[key]["unreadable"])


@pytest.mark.parametrize("way", ["refinish grade", "nbgrader autograde"])
def test_only_the_lessons_own_files_lie_where_they_are_served_or_given_back(graded, way):
    room = graded[0][way].root
    for step, kind in (("submitted", "ipynb"), ("autograded", "ipynb"), ("feedback", "html")):
        for path in (room / step).rglob("*"):
            assert not path.is_symlink(), path
            assert path.is_dir() or path.name in (f"mixing.{kind}", "timestamp.txt"), path


def test_feedback_gives_nothing_away(graded):
    room = graded[0]["refinish grade"].root
    pages = list((room / "feedback").rglob("*.html"))
    kept_back = (room / "solutions/mixing/mixing.ipynb").read_text(encoding="utf-8")
    assert {page.parent.parent.name for page in pages} == GIVEN_BACK
    for page in pages:
        text = page.read_text(encoding="utf-8")
        for secret in (
            "BEGIN HIDDEN",
            "check.mark",
            "refinishlib.course.keys",
            "Half a per cent of 60 g",
        ):
            assert secret in kept_back, f"{secret!r} stands nowhere, so that it cannot be given away"
            typed_it_themselves = secret == "BEGIN HIDDEN" and page.parent.parent.name == "hidden-tests"
            assert secret not in text or typed_it_themselves, (page, secret)
        assert "<script" not in text


def test_the_summary_names_each_trouble_in_one_line(graded):
    summary = graded[2]
    lines = "\n".join(summary.lines)
    assert summary.handed_in == len(ATTACKS) + len(HONEST)
    for who in ("shell", "check-deleted", "answer-copied", "other-id", "cut-short", "huge", "pipe", "link-solution"):
        assert f"  {who}:" in lines, who
    assert not set(summary.needs) & {"a-first", "z-last", "points", "schema-new"}
    assert all(len(line) < 400 for line in summary.lines)


def test_a_resubmission_with_a_deleted_check_loses_the_mark(classroom):
    classroom.hand_in("sly")
    grading.grade(classroom.root, "mixing")
    assert classroom.scores()["sly"][CHECK] == (classroom.most[CHECK], False)
    changes(lambda nb, canary: nb["cells"].remove(cell(nb, CHECK)), WRONG)(classroom, "sly", None)
    grading.grade(classroom.root, "mixing")
    assert classroom.scores()["sly"][CHECK] == (0.0, True)


def test_a_damaged_resubmission_clears_the_earlier_score_and_says_so(classroom):
    classroom.hand_in("sly")
    grading.grade(classroom.root, "mixing")
    file(b"{")(classroom, "sly", None)
    [summary] = grading.grade(classroom.root, "mixing")
    assert classroom.scores()["sly"][CHECK] == (0.0, True)
    assert "damaged" in "\n".join(summary.lines)


def test_a_folder_that_is_nobodys_id_is_left_alone(classroom):
    names = ["<img src=x onerror=alert(1)>", "a b", "..x", "-rf", "a;touch", "\u202ea"]
    for name in [*names, "honest"]:
        classroom.hand_in(name)
    [summary] = grading.grade(classroom.root, "mixing")
    assert list(classroom.scores()) == ["honest"]
    assert len(summary.failed) == len(names)
    assert classroom.nbgrader("autograde", "mixing", "--force").returncode == 0
    assert list(classroom.scores()) == ["honest"]


def test_the_worker_imports_nothing_from_where_it_was_started(tmp_path):
    (tmp_path / "refinishlib.py").write_text(f"open({str(tmp_path / 'canary')!r}, 'w')")
    ask = "from refinishlib.grading.evaluator import Evaluator; e = Evaluator(); print(e('a', [])); e.close()"
    root = Path(__file__).parents[2]
    environment = os.environ | {"PYTHONPATH": str(root)}
    command = [sys.executable, "-P", "-c", ask]
    run = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, env=environment)
    assert run.stdout.strip() == "{}", run.stderr
    assert not (tmp_path / "canary").exists()
