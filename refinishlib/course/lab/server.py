"""Our part of the Jupyter server: what was read, where lessons stand, handing in. Needs no kernel and marks nothing.

It answers whoever may use the server, as Jupyter's own handlers do: signed in, and with the page's own token.
"""

from __future__ import annotations

import asyncio
import json
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import cache
from pathlib import Path
from typing import Any

from jupyter_server.auth.decorator import authorized
from jupyter_server.base.handlers import APIHandler
from jupyter_server.serverapp import ServerApp
from jupyter_server.utils import ensure_async, url_path_join
from tornado import web

from refinishlib.entry import BadEntry

LONGEST_BODY = 1_000_000
FINE = "Whether it is right, your instructor's grading will say."

SOURCES = {"LONGEST_BODY": "definition: a megabyte, many times a lesson's answers"}


def _load_jupyter_server_extension(server: ServerApp) -> None:
    # Called by Jupyter for each start; what the course computes with is imported when somebody asks.
    base = url_path_join(server.web_app.settings["base_url"], "refinish")
    rows = {"check": Check, "lessons": Lessons, "id": Who, "hand-in": HandingIn}
    server.web_app.add_handlers(".*$", [(url_path_join(base, name), handler) for name, handler in rows.items()])
    # The bench stands in the next room: a calculator of a lesson has its way there, and one of the bench its way back.
    from refinishlib.bench.served.server import add_handlers

    root = Path(server.web_app.settings["server_root_dir"]).expanduser()
    at = server.web_app.settings["base_url"]
    add_handlers(server, root / ".local" / "bench", warm=0, lesson_of=lambda key: _lesson_of(key, at))


@cache
def _lesson_of(key: str, base_url: str) -> tuple[str, str] | None:
    """Title and address of the first lesson that shows a calculator."""
    from refinishlib.bench.registry import row
    from refinishlib.course import lessons
    from refinishlib.course.lab import desk

    found = row(key)
    for name in lessons.names():
        if found and f"{{widget {found.function}" in lessons.text(name):
            return lessons.record(name).title, f"{base_url}lab/tree/{desk.path_of(name)}"
    return None


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


# One thread, so that no request meets what another is still importing.
_ONE_BY_ONE = ThreadPoolExecutor(max_workers=1, thread_name_prefix="refinish")


async def _aside(work: Callable[..., Any], *given: Any) -> Any:
    """Done beside the server's loop: the first call imports what the course computes with."""
    return await asyncio.get_running_loop().run_in_executor(_ONE_BY_ONE, work, *given)


class Check(Handler):
    @web.authenticated
    @authorized
    async def post(self) -> None:
        """What the reader makes of one question's answer cell, given all answer cells as they stand on the page."""
        body = self.body()
        texts = body.get("texts")
        if not isinstance(texts, list) or not all(isinstance(text, str) for text in texts):
            raise BadEntry("texts: a list of texts is wanted.")
        asked = (self.text(body, name) for name in ("lesson", "question", "id"))
        self.finish(await _aside(_checked, *asked, texts))


def _checked(lesson: str, question: str, who: str, texts: list[str]) -> dict[str, Any]:
    from refinishlib.course import apprentice
    from refinishlib.course.lab.entries import of_question
    from refinishlib.course.reading import READ

    fields = of_question(lesson, question, apprentice.own(who), texts)
    fine = all(one.state == READ for one in fields)
    return {"fields": [vars(one) for one in fields], "summary": FINE if fine else ""}


class Lessons(Handler):
    @web.authenticated
    @authorized
    async def get(self) -> None:
        """Who sits here, and where each lesson of the course stands."""
        records = await _aside(_records)
        from refinishlib.course.lab import desk, entries

        who, rows = desk.remembered(self.course), []
        for record in records:
            path = desk.path_of(record.name)
            notebook = await self.notebook(path)
            if notebook is None:
                continue
            owner = entries.whose(notebook) or who
            given = await self.notebook(f"{desk.HAND_IN}/{desk.file_name(owner, record.name)}") if owner else None
            stands = await _aside(desk.standing, record.name, notebook, given)
            about = {"lesson": record.name, "title": record.title, "minutes": record.minutes}
            rows.append({**about, "good_for": record.good_for, "path": path, "who": who, **vars(stands)})
        self.finish({"who": who, "lessons": rows})


def _records() -> list[Any]:
    from refinishlib.course.lab import desk, entries  # noqa: F401 (imported here, in the one thread)
    from refinishlib.course.lessons import names, record

    return [record(name) for name in names()]


class Who(Handler):
    @web.authenticated
    @authorized
    async def post(self) -> None:
        """Remember who sits here."""
        from refinishlib.course.lab.desk import remember

        self.finish({"who": remember(self.course, self.text(self.body(), "id"))})


class HandingIn(Handler):
    @web.authenticated
    @authorized
    async def post(self) -> None:
        """Hand in a saved lesson; where something is empty or unreadable, only when the apprentice is sure."""
        records = await _aside(_records)
        from refinishlib.course.lab import desk, entries

        body = self.body()
        path = self.text(body, "path").strip("/")
        lesson = next((one.name for one in records if desk.path_of(one.name) == path), "")
        notebook = await self.notebook(path) if lesson else None
        if notebook is None:
            raise BadEntry("Only a lesson of the course can be handed in. Open it from the start page.")
        who = entries.whose(notebook)
        missing = await _aside(desk.not_ready, lesson, notebook)
        if not who or (missing and body.get("sure") is not True):
            self.finish({"problems": [{"question": name, **vars(said)} for name, said in missing], "whose": who})
            return
        name = desk.file_name(desk.checked_id(who), lesson)
        manager = self.contents_manager
        if not await ensure_async(manager.dir_exists(desk.HAND_IN)):
            await ensure_async(manager.save({"type": "directory"}, desk.HAND_IN))
        model = {"type": "notebook", "format": "json", "content": desk.handed_in_copy(notebook, lesson)}
        await ensure_async(manager.save(model, f"{desk.HAND_IN}/{name}"))
        self.finish({"file": f"{desk.HAND_IN}/{name}", "folder": desk.HAND_IN, "name": name})
