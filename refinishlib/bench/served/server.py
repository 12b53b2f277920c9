"""What the bench's page asks of its server: pages, files that are kept by the browser, kernels, and what is kept."""

from __future__ import annotations

import ast
import asyncio
import gzip
import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from jupyter_server.base.handlers import JupyterHandler
from tornado import web

from refinishlib.bench.registry import CALCULATORS, CalculatorRow, row
from refinishlib.bench.served import pages
from refinishlib.bench.served.keeping import BenchFolder, StaleJob, as_file, from_file
from refinishlib.bench.served.record import record_text
from refinishlib.entry import BadEntry
from refinishlib.picture import tokens
from refinishlib.shop.shop import load
from refinishlib.units import METRIC, ShopUnits

HERE = Path(__file__).parent
WARM = 1
PATIENCE_S = 60.0
A_YEAR_S = 365 * 24 * 3600
KINDS = {"js": "text/javascript", "css": "text/css"}

SOURCES = {
    "WARM": "teaching value: one painter opens one page at a time",
    "PATIENCE_S": "teaching value: a machine on which a kernel takes longer does without those made ahead",
    "A_YEAR_S": "RFC 9111 (2022): a file whose name changes with its content may be kept for a year",
    "KINDS": "definition",
}


@dataclass
class Bench:
    """What one server's bench knows.

    kernels : the server's
    folder : where the job and all entries are kept
    shop : the shop's own folder; None for the built-in shop
    shared_at : the address to type on another device; empty where only this machine gets in
    lesson_of : from a calculator's address to title and address of the lesson that teaches it, if there is one
    warm : how many kernels are kept ready
    """

    kernels: Any
    folder: BenchFolder
    shop: Path | None = None
    shared_at: str = ""
    lesson_of: Callable[[str], tuple[str, str] | None] = lambda key: None
    warm: int = WARM

    def __post_init__(self) -> None:
        self.pool = Pool(self.kernels, self.warm, self.recipe)

    def faults(self) -> tuple[str, ...]:
        """What is wrong in the shop's folder as it is now, a sentence for each."""
        try:
            load(self.shop)
        except BadEntry as bad:
            return tuple(str(bad).splitlines())
        return ()

    def recipe(self) -> tuple[dict[str, str], tuple[float, ...]]:
        """What a waiting kernel makes ahead, and how old the shop's files are: with another recipe it is of no use."""
        files = sorted(self.shop.glob("*.toml")) if self.shop else []
        return {one.key: self.code(one) for one in CALCULATORS if one.is_light}, tuple(
            file.stat().st_mtime for file in files
        )

    def code(self, one: CalculatorRow) -> str:
        """What a kernel runs to make a calculator.

        >>> Bench(None, BenchFolder(Path("none"))).code(CALCULATORS[0])
        'from refinishlib.bench.compare import CompareColours\\nCompareColours()'
        """
        lines, given = [f"from refinishlib.bench.{one.module} import {one.function}"], []
        if self.shop and "shop" in one.takes:
            lines += ["from pathlib import Path", "from refinishlib.shop.shop import load"]
            given.append(f"shop=load(Path({str(self.shop)!r}))")
        units = self.folder.units
        if units != METRIC and "units" in one.takes:
            lines.append("from refinishlib.units import ShopUnits")
            given.append(f"units={units!r}")
        return "\n".join([*lines, f"{one.function}({', '.join(given)})"])


Recipe = tuple[dict[str, str], tuple[float, ...]]


@dataclass(frozen=True)
class Waiting:
    """A kernel that has made calculators ahead.

    made : for each address the model of the calculator and the states of all its widgets
    """

    kernel: str
    recipe: Recipe | None = None
    made: Mapping[str, Any] = field(default_factory=dict)


class Pool:
    """Kernels that wait for a page, with what can be made ahead."""

    def __init__(self, kernels: Any, size: int, recipe: Callable[[], Recipe]) -> None:
        self._kernels = kernels
        self._size = size
        self._recipe = recipe
        self._waiting: list[Waiting] = []
        self._filling: asyncio.Task[None] | None = None

    async def take(self) -> Waiting:
        """One for a page; another is made ready meanwhile."""
        now = self._recipe()
        while self._waiting:
            found = self._waiting.pop(0)
            if found.kernel in self._kernels:
                if found.recipe == now:
                    self.fill()
                    return found
                await self._kernels.shutdown_kernel(found.kernel)
        kernel: str = await self._kernels.start_kernel()
        self.fill()
        return Waiting(kernel)

    def fill(self) -> None:
        if self._size and (self._filling is None or self._filling.done()):
            self._filling = asyncio.ensure_future(self._fill())

    async def _fill(self) -> None:
        while len(self._waiting) < self._size:
            self._waiting.append(await self._made())

    async def _made(self) -> Waiting:
        kernel: str = await self._kernels.start_kernel()
        recipe = self._recipe()
        client = self._kernels.get_kernel(kernel).client()
        client.start_channels(iopub=False, stdin=False, hb=False, control=False)
        try:
            asked = {"made": f"made_ahead({recipe[0]!r})"}
            code = "from refinishlib.bench.served.warm import made_ahead"
            reply = await client.execute(code, silent=True, user_expressions=asked, reply=True, timeout=PATIENCE_S)
            said = reply["content"]["user_expressions"]["made"]["data"]["text/plain"]
            return Waiting(kernel, recipe, json.loads(ast.literal_eval(said)))
        except (TimeoutError, KeyError, ValueError, SyntaxError):
            return Waiting(kernel, recipe)  # the page then has each calculator made when it is opened
        finally:
            client.stop_channels()


class _Ours(JupyterHandler):
    @property
    def bench(self) -> Bench:
        bench: Bench = self.settings["refinish_bench"]
        return bench

    @property
    def at(self) -> str:
        return f"{self.base_url}refinish"

    def page(self, title: str, main: str, script: str = "") -> None:
        self.xsrf_token  # noqa: B018 - asking for it sets the cookie that the page sends back
        self.finish(pages.whole(title, main, at=self.at, css=f"{self.at}/{_names()['bench.css']}", script=script))

    def said(self) -> Any:
        """The request's body as plain data."""
        try:
            return json.loads(self.request.body)
        except ValueError:
            raise web.HTTPError(400) from None

    def packed(self, data: Any) -> None:
        """Answer with plain data, packed where the browser takes that: the states of many widgets are long."""
        content = json.dumps(data).encode()
        self.set_header("Content-Type", "application/json")
        if "gzip" in self.request.headers.get("Accept-Encoding", ""):
            self.set_header("Content-Encoding", "gzip")
            content = gzip.compress(content, 6, mtime=0)
        self.finish(content)

    def refuse(self, bad: BadEntry, status: int = 400) -> None:
        """Answer with the sentence, for the page to show."""
        self.set_status(status)
        self.finish({"sentence": str(bad)})


class Home(_Ours):
    """All calculators, in the order of a job."""

    @web.authenticated
    def get(self) -> None:
        self.page("The bench", pages.home(self.at, self.bench.folder.values, self.bench.faults()))


class OneCalculator(_Ours):
    """One calculator, at its own address."""

    @web.authenticated
    def get(self, key: str) -> None:
        found = row(key)
        if found is None:
            raise web.HTTPError(404)
        if self.bench.faults():
            return self.redirect(f"{self.at}/shop")
        about = {"base": self.base_url, "key": found.key, "code": self.bench.code(found)}
        main = pages.calculator(self.at, key, self.bench.lesson_of(key))
        self.page(found.title, main, pages.script(f"{self.at}/{_names()['bench.js']}", about))


class JobPage(_Ours):
    """The job: all that it carries, put aside and taken up, as a file, as the record, on paper."""

    @web.authenticated
    def get(self) -> None:
        main = pages.job(self.bench.folder.values, self.bench.folder.put_aside_jobs())
        about = {"at": self.at, "revision": self.bench.folder.revision}
        self.page("This job", main, pages.script(f"{self.at}/{_names()['job.js']}", about))


class ShopPage(_Ours):
    """Whose paints, which units, and how another device gets in."""

    @web.authenticated
    def get(self) -> None:
        main = pages.shop(self.bench.shop, self.bench.faults(), self.bench.folder.units, self.bench.shared_at)
        self.page("Shop and units", main, pages.script(f"{self.at}/{_names()['job.js']}", {"at": self.at}))


class File(_Ours):
    """A file whose name changes with its content, so that a browser keeps it."""

    @web.authenticated
    def get(self, name: str) -> None:
        found = _files().get(name)
        if found is None:
            raise web.HTTPError(404)
        self.set_header("Content-Type", KINDS[name.rpartition(".")[2]])
        self.set_header("Cache-Control", f"max-age={A_YEAR_S}, immutable")
        self.set_header("Vary", "Accept-Encoding")
        packed = "gzip" in self.request.headers.get("Accept-Encoding", "")
        if packed:
            self.set_header("Content-Encoding", "gzip")
        self.finish(found[1] if packed else found[0])


class Kernel(_Ours):
    """A kernel for a page, with what was entered before and what the job says; and back again."""

    @web.authenticated
    async def post(self, key: str) -> None:
        if row(key) is None:
            raise web.HTTPError(404)
        folder, found = self.bench.folder, await self.bench.pool.take()
        kept = {"entries": folder.entries(key), "revision": folder.revision, "values": folder.values}
        self.packed({"kernel": found.kernel, "made": found.made.get(key), **kept})

    @web.authenticated
    async def delete(self, kernel: str) -> None:
        if kernel in self.kernel_manager:
            await self.kernel_manager.shutdown_kernel(kernel)
        self.set_status(204)
        self.finish()


class TheJob(_Ours):
    """What the job says; a change that is based on an older state is refused."""

    @web.authenticated
    def get(self) -> None:
        self.finish({"revision": self.bench.folder.revision, "values": self.bench.folder.values})

    @web.authenticated
    def put(self) -> None:
        given = self.said()
        try:
            self.bench.folder.put(given["values"], based_on=int(given["revision"]))
        except StaleJob:
            self.set_status(409)
        except (BadEntry, ValueError, KeyError, TypeError):
            raise web.HTTPError(400) from None
        self.get()


class JobFile(_Ours):
    """The job as a file, for another bench or another day; and from one."""

    @web.authenticated
    def get(self) -> None:
        self.finish(as_file(self.bench.folder.values))

    @web.authenticated
    def post(self) -> None:
        try:
            self.bench.folder.put(from_file(self.request.body.decode("utf-8")), based_on=self.bench.folder.revision)
        except UnicodeDecodeError:
            self.refuse(BadEntry("job: this file was given, allowed is one that the bench wrote."))
        except BadEntry as bad:
            self.refuse(bad)
        else:
            self.finish({})


class Aside(_Ours):
    """Puts the job aside, and takes one up."""

    @web.authenticated
    def post(self) -> None:
        given, folder = self.said(), self.bench.folder
        try:
            name = given.get("take up") if isinstance(given, dict) else None
            if name is not None:
                folder.take_up(str(name))
            self.finish({"name": folder.put_aside() if name is None else str(name)})
        except BadEntry as bad:
            self.refuse(bad)


class RecordFile(_Ours):
    """The record of the job, for the next painter."""

    @web.authenticated
    def get(self) -> None:
        try:
            self.finish({"text": record_text(self.bench.folder.values)})
        except BadEntry as bad:
            self.refuse(bad)


class Entries(_Ours):
    """What is entered in a calculator, so that another device goes on where this one stopped."""

    @web.authenticated
    def put(self, key: str) -> None:
        try:
            self.bench.folder.keep_entries(key, self.said())
        except BadEntry as bad:
            return self.refuse(bad)
        self.set_status(204)
        self.finish()


class Units(_Ours):
    """The units of the shop."""

    @web.authenticated
    def put(self) -> None:
        given = self.said()
        try:
            self.bench.folder.choose_units(ShopUnits(**given))
        except (BadEntry, TypeError) as bad:
            return self.refuse(bad if isinstance(bad, BadEntry) else BadEntry("units: allowed are those of the list."))
        self.finish({})


def add_handlers(app: Any, folder: Path | None = None, **more: Any) -> None:
    """Put the bench into a server.

    folder : where it keeps what is entered; the server's own if not given
    more : what `Bench` is made with besides
    """
    settings = app.web_app.settings
    kept = BenchFolder(folder or Path(app.root_dir))
    bench = settings["refinish_bench"] = Bench(app.kernel_manager, kept, **more)
    at = settings["base_url"] + "refinish"
    keys = "|".join(one.key for one in CALCULATORS)
    app.web_app.add_handlers(
        ".*$",
        [
            (f"{at}/?", Home),
            (f"{at}/({keys})", OneCalculator),
            (f"{at}/this-job", JobPage),
            (f"{at}/shop", ShopPage),
            (f"{at}/kernel/([a-z0-9-]+)", Kernel),
            (f"{at}/job", TheJob),
            (f"{at}/job/file", JobFile),
            (f"{at}/job/aside", Aside),
            (f"{at}/job/record", RecordFile),
            (f"{at}/entries/([a-z-]{{1,40}})", Entries),
            (f"{at}/units", Units),
            (f"{at}/((?:bench|job)-[0-9a-f]+\\.(?:js|css))", File),
        ],
    )
    if bench.warm:
        app.io_loop.add_callback(bench.pool.fill)


@cache
def _contents() -> dict[str, bytes]:
    """The files of the page, by their plain names."""
    return {
        "bench.js": (HERE / "built" / "bench.js").read_bytes(),
        "bench.css": tokens.css().encode() + (HERE / "built" / "bench.css").read_bytes(),
        "job.js": (HERE / "job.js").read_bytes(),
    }


@cache
def _names() -> dict[str, str]:
    """For each plain name one with a hash of the content."""
    made = {}
    for plain, content in _contents().items():
        stem, _, kind = plain.rpartition(".")
        made[plain] = f"{stem}-{hashlib.sha256(content).hexdigest()[:12]}.{kind}"
    return made


@cache
def _files() -> dict[str, tuple[bytes, bytes]]:
    """For each name with a hash: the content, and the same packed."""
    return {_names()[plain]: (content, gzip.compress(content, 9, mtime=0)) for plain, content in _contents().items()}
