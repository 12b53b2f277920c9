"""Our part of the Jupyter server: what was read, where the lessons stand, handing in. Needs no kernel and marks nothing.

It answers whoever may use the server, as Jupyter's own handlers do: signed in, and with the page's own token.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

from jupyter_server.auth.decorator import authorized
from jupyter_server.base.handlers import APIHandler
from jupyter_server.serverapp import ServerApp
from jupyter_server.utils import ensure_async, url_path_join
from tornado import web

from refinishlib.entry import BadEntry

LONGEST_BODY = 200_000


def _load_jupyter_server_extension(server: ServerApp) -> None:
    # Called by Jupyter for each start; what the course computes with is imported when somebody asks.
    base = url_path_join(server.web_app.settings["base_url"], "refinish")
    rows = {"check": Check, "lessons": Lessons, "id": Who, "hand-in": HandIn}
    server.web_app.add_handlers(".*$", [(url_path_join(base, name), handler) for name, handler in rows.items()])


class Handler(APIHandler):
    """What ours have in common: a body of plain values, and a BadEntry as one sentence."""

    auth_resource = "contents"

    def body(self) -> dict[str, Any]:
        try:
            body = json.loads(self.request.body) if len(self.request.body) <= LONGEST_BODY else None
        except ValueError:
            body = None
        if not isinstance(body, dict):
            raise BadEntry("The server did not understand what the page sent. Load the page again.")
        return body

    def text(self, body: dict[str, Any], name: str) -> str:
        value = body.get(name, "")
        if not isinstance(value, str):
            raise BadEntry(f"{name}: a text is wanted.")
        return value

    @property
    def course(self) -> Path:
        return Path(self.settings["server_root_dir"]).expanduser()

    async def notebook(self, path: str) -> dict[str, Any] | None:
        """A notebook's data by its path below the server's folder, or None."""
        manager = self.contents_manager
        if not await ensure_async(manager.file_exists(path)):
            return None
        try:
            model = await ensure_async(manager.get(path, content=True, type="notebook"))
        except web.HTTPError:
            return None
        content: dict[str, Any] = model["content"]
        return content

    def write_error(self, status_code: int, **kwargs: Any) -> None:
        error = kwargs.get("exc_info", (None, None))[1]
        if isinstance(error, BadEntry):
            self.set_status(400)
            self.finish(json.dumps({"message": str(error)}))
            return
        super().write_error(status_code, **kwargs)

    def log_exception(self, kind: Any, error: Any, trace: Any) -> None:
        if not isinstance(error, BadEntry):
            super().log_exception(kind, error, trace)


async def _aside(work: Callable[..., Any], *given: Any) -> Any:
    """Done beside the server's loop: the first call imports what the course computes with."""
    return await asyncio.get_running_loop().run_in_executor(None, work, *given)


class Check(Handler):
    @web.authenticated
    @authorized
    async def post(self) -> None:
        """What the reader makes of one answer cell as it stands on the page."""
        body = self.body()
        self.finish(await _aside(_checked, *(self.text(body, name) for name in ("lesson", "question", "id", "source"))))


def _checked(lesson: str, question: str, who: str, source: str) -> dict[str, Any]:
    from refinishlib.course import apprentice
    from refinishlib.course.lab.entries import UNREADABLE, of_question

    entries = of_question(lesson, question, apprentice.own(who), source)
    wrong = sum(entry.state == UNREADABLE for entry in entries)
    summary = "This cannot be read yet." if wrong else "Whether it is right, your instructor's grading will say."
    return {"fields": [vars(entry) for entry in entries], "summary": summary}


class Lessons(Handler):
    @web.authenticated
    @authorized
    async def get(self) -> None:
        """Who sits here, and where each lesson of the course stands."""
        from refinishlib.course.lab.desk import HAND_IN, file_name, remembered, standing, whose
        from refinishlib.course.lab.shelf import shelf

        who, rows = remembered(self.course), []
        for book in await _aside(shelf):
            notebook = await self.notebook(book.path)
            if notebook is None:
                continue
            owner = whose(notebook) or who
            given = await self.notebook(f"{HAND_IN}/{file_name(owner, book.lesson)}") if owner else None
            stands = await _aside(standing, book.lesson, notebook, given)
            cannot = f"{stands.unreadable[0]} Open the lesson to mend it." if stands.unreadable else ""
            rows.append({**vars(book), **vars(stands), "path": book.path, "unreadable": cannot, "who": who})
        self.finish({"who": who, "lessons": rows})


class Who(Handler):
    @web.authenticated
    @authorized
    async def post(self) -> None:
        """Remember who sits here."""
        from refinishlib.course.lab.desk import remember

        self.finish({"who": remember(self.course, self.text(self.body(), "id"))})


class HandIn(Handler):
    @web.authenticated
    @authorized
    async def post(self) -> None:
        """Hand in a saved lesson; where something is empty or unreadable, only when the apprentice is sure."""
        from refinishlib.course.lab import desk
        from refinishlib.course.lab.shelf import shelf

        body = self.body()
        path = self.text(body, "path").strip("/")
        [book, *_] = [*[one for one in await _aside(shelf) if one.path == path], None]
        notebook = await self.notebook(path) if book else None
        if book is None or notebook is None:
            raise BadEntry("Only a lesson of the course can be handed in. Open it from the start page.")
        who = desk.whose(notebook)
        missing = await _aside(desk.not_ready, book.lesson, notebook)
        if not who or (missing and body.get("sure") is not True):
            self.finish({"problems": [vars(entry) for entry in missing], "whose": who})
            return
        name = desk.file_name(desk.checked_id(who), book.lesson)
        manager = self.contents_manager
        if not await ensure_async(manager.dir_exists(desk.HAND_IN)):
            await ensure_async(manager.save({"type": "directory"}, desk.HAND_IN))
        model = {"type": "notebook", "format": "json", "content": desk.handed_in_copy(notebook, book.lesson)}
        await ensure_async(manager.save(model, f"{desk.HAND_IN}/{name}"))
        self.finish({"file": f"{desk.HAND_IN}/{name}", "folder": desk.HAND_IN, "name": name})
