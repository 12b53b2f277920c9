"""What the bench's page asks of its server: pages, files that are kept by the browser, kernels, and the job."""

from __future__ import annotations

import asyncio
import gzip
import hashlib
import json
from functools import cache
from html import escape
from pathlib import Path
from string import Template
from typing import Any

from jupyter_server.base.handlers import JupyterHandler
from tornado import web

from refinishlib.bench.registry import CALCULATORS, CalculatorRow, row
from refinishlib.bench.served.job import SharedJob, StaleJob
from refinishlib.entry import BadEntry
from refinishlib.picture import tokens

HERE = Path(__file__).parent
WARM = 1
# What every calculator needs; engines are loaded by the calculator that asks them.
WARM_CODE = "import ipywidgets, anywidget, refinishlib.bench.calculator, refinishlib.bench.mix_sheet"
A_YEAR_S = 365 * 24 * 3600
KINDS = {"js": "text/javascript", "css": "text/css"}

SOURCES = {
    "WARM": "teaching value: one painter opens one page at a time",
    "WARM_CODE": "definition",
    "A_YEAR_S": "RFC 9111 (2022): a file whose name changes with its content may be kept for a year",
    "KINDS": "definition",
}

PAGE = Template("""<!doctype html>
<html lang="en"><head><meta charset="utf-8"><meta name="viewport" content="width=device-width, initial-scale=1">
<title>$title</title><link rel="stylesheet" href="$css"><link rel="icon" href="data:,"></head>
<body><header class="refinish-top"><h1>$title</h1>$links<button type="button" id="theme">Light or dark</button></header>
<main>$main</main>
<script>
const look = document.documentElement.dataset;
try { const kept = localStorage.getItem("refinish: theme"); if (kept) look.refinishTheme = kept; } catch {}
document.getElementById("theme").addEventListener("click", () => {
  const dark = look.refinishTheme ? look.refinishTheme === "dark" : matchMedia("(prefers-color-scheme: dark)").matches;
  look.refinishTheme = dark ? "light" : "dark";
  try { localStorage.setItem("refinish: theme", look.refinishTheme); } catch {}
});
</script>$script</body></html>
""")


class Pool:
    """Kernels that have loaded already what every calculator needs."""

    def __init__(self, kernels: Any) -> None:
        self._kernels = kernels
        self._warm: list[str] = []
        self._filling: asyncio.Task[None] | None = None

    async def take(self) -> str:
        """One for a page; another is made ready meanwhile."""
        while self._warm:
            found = self._warm.pop(0)
            if found in self._kernels:
                self.fill()
                return found
        found = await self._start()
        self.fill()
        return found

    def fill(self) -> None:
        if self._filling is None or self._filling.done():
            self._filling = asyncio.ensure_future(self._fill())

    async def _fill(self) -> None:
        while len(self._warm) < WARM:
            self._warm.append(await self._start())

    async def _start(self) -> str:
        found: str = await self._kernels.start_kernel()
        client = self._kernels.get_kernel(found).client()
        client.start_channels(iopub=False, stdin=False, hb=False, control=False)
        client.execute(WARM_CODE, silent=True)
        client.stop_channels()
        return found


class _Ours(JupyterHandler):
    @property
    def pool(self) -> Pool:
        pool: Pool = self.settings["refinish_pool"]
        return pool

    @property
    def job(self) -> SharedJob:
        job: SharedJob = self.settings["refinish_job"]
        return job

    def page(self, title: str, main: str, links: str = "", script: str = "") -> None:
        self.xsrf_token  # noqa: B018 - asking for it sets the cookie that the page sends back
        css = f"{self.base_url}refinish/{_files()['css'][0]}"
        self.finish(PAGE.substitute(title=escape(title), main=main, links=links, script=script, css=css))


class Home(_Ours):
    """All calculators, in the order of a job."""

    @web.authenticated
    def get(self) -> None:
        tiles = "".join(
            f'<li><a href="{self.base_url}refinish/{one.key}"><b>{escape(one.title)}</b>'
            f"<span>{escape(one.task)}</span></a></li>"
            for one in CALCULATORS
        )
        self.page("The bench", f'<ul class="refinish-tiles">{tiles}</ul>')


class OneCalculator(_Ours):
    """One calculator, at its own address."""

    @web.authenticated
    def get(self, key: str) -> None:
        found = row(key)
        if found is None:
            raise web.HTTPError(404)
        about = {"base": self.base_url, "key": found.key, "code": code(found)}
        data = json.dumps(about).replace("<", "\\u003c")
        script = (
            f'<script type="application/json" id="about">{data}</script>'
            f'<script src="{self.base_url}refinish/{_files()["js"][0]}"></script>'
        )
        main = '<div id="calculator"><p class="refinish-wait">One moment …</p></div>'
        self.page(found.title, main, f'<a href="{self.base_url}refinish">All calculators</a>', script)


class File(_Ours):
    """A file whose name changes with its content, so that a browser keeps it."""

    @web.authenticated
    def get(self, name: str) -> None:
        kind = name.rpartition(".")[2]
        found = _files().get(kind)
        if found is None or found[0] != name:
            raise web.HTTPError(404)
        self.set_header("Content-Type", KINDS[kind])
        self.set_header("Cache-Control", f"max-age={A_YEAR_S}, immutable")
        self.set_header("Vary", "Accept-Encoding")
        packed = "gzip" in self.request.headers.get("Accept-Encoding", "")
        if packed:
            self.set_header("Content-Encoding", "gzip")
        self.finish(found[2] if packed else found[1])


class Kernel(_Ours):
    """A kernel for a page, and back again."""

    @web.authenticated
    async def post(self, key: str) -> None:
        if row(key) is None:
            raise web.HTTPError(404)
        self.finish({"kernel": await self.pool.take()})

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
        self.finish({"revision": self.job.revision, "values": self.job.values})

    @web.authenticated
    def put(self) -> None:
        try:
            given = json.loads(self.request.body)
            self.job.put(given["values"], based_on=int(given["revision"]))
        except StaleJob:
            self.set_status(409)
        except (BadEntry, ValueError, KeyError, TypeError):
            raise web.HTTPError(400) from None
        self.get()


def code(one: CalculatorRow) -> str:
    """What a kernel runs to make a calculator.

    >>> from refinishlib.bench.registry import CALCULATORS
    >>> code(CALCULATORS[0])
    'from refinishlib.bench.compare import CompareColours\\nCompareColours()'
    """
    return f"from refinishlib.bench.{one.module} import {one.function}\n{one.function}()"


def add_handlers(app: Any) -> None:
    """Put the bench into a server."""
    settings = app.web_app.settings
    settings["refinish_pool"] = Pool(app.kernel_manager)
    settings["refinish_job"] = SharedJob(Path(app.root_dir) / "job.json")
    at = settings["base_url"] + "refinish"
    app.web_app.add_handlers(
        ".*$",
        [
            (at, Home),
            (f"{at}/kernel/([a-z0-9-]+)", Kernel),
            (f"{at}/job", TheJob),
            (f"{at}/([a-z]+)", OneCalculator),
            (f"{at}/(bench-[0-9a-f]+\\.(?:js|css))", File),
        ],
    )
    app.io_loop.add_callback(settings["refinish_pool"].fill)


@cache
def _files() -> dict[str, tuple[str, bytes, bytes]]:
    """For each kind: a name with a hash of the content, the content, and the same packed."""
    made = {}
    for kind in KINDS:
        content = (HERE / "built" / f"bench.{kind}").read_bytes()
        if kind == "css":
            content = tokens.css().encode() + content
        name = f"bench-{hashlib.sha256(content).hexdigest()[:12]}.{kind}"
        made[kind] = (name, content, gzip.compress(content, 9, mtime=0))
    return made
