"""`refinish open`: JupyterLab on the start page, ready for someone who has never seen it."""

from __future__ import annotations

import argparse
import json
import shutil
import signal
import threading
from importlib.resources import files
from pathlib import Path
from typing import Any

from refinishlib.course.lab.saving import drop_dead_outputs

HERE = Path(__file__).parent
START_PAGE = "refinish-start"  # as the lab extension calls it
PORT = 8888
# What an apprentice need not see in the list of files.
BEHIND_THE_SCENES = (
    "solutions", "refinishlib", "tests", "build", "*.egg-info", "*.toml", "*.py", "*.md", "LICENSE", "gradebook.db*",
    "submitted", "autograded", "feedback", "__pycache__",
)  # fmt: skip

NBGRADER_SERVICES = [
    f"nbgrader.server_extensions.{name}"
    for name in ("assignment_list", "course_list", "formgrader", "validate_assignment")
]


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--teach", action="store_true", help="an instructor's way in: with nbgrader's tabs")
    add_lab_arguments(parser, PORT)


def add_lab_arguments(parser: argparse.ArgumentParser, port: int) -> None:
    """The arguments of every command that starts JupyterLab."""
    parser.add_argument("--port", type=int, default=port, help="where the browser finds it (default: %(default)s)")
    parser.add_argument("--no-browser", action="store_true", help="print the address instead of opening a browser")


def run(arguments: argparse.Namespace) -> int:
    return start_lab(
        desk="instructor" if arguments.teach else "apprentice",
        root=Path.cwd(),
        page="",
        hidden=() if arguments.teach else BEHIND_THE_SCENES,
        port=arguments.port,
        browser=not arguments.no_browser,
    )


def start_lab(*, desk: str, root: Path, page: str, hidden: tuple[str, ...], port: int, browser: bool) -> int:
    """Start JupyterLab on one page, with settings of its own, and wait until it is stopped.

    Parameters
    ----------
    desk : whose settings, "apprentice" or "instructor"; each desk keeps its own in the course's .local/
    root : the folder whose files JupyterLab shows
    page : the notebook to open first, as seen from root, with forward slashes; "" for the start page
    hidden : patterns of names that the list of files leaves out
    port : the first port to try
    browser : whether to open a browser
    """
    import zmq
    from jupyterlab.labapp import LabApp
    from traitlets.config import Config

    folders = set_up(desk, Path.cwd() / ".local" / desk, page)
    config = Config()
    config.LabApp.app_settings_dir = str(folders["settings"])
    config.LabApp.user_settings_dir = str(folders["choices"])
    config.LabApp.workspaces_dir = str(folders["workspaces"])
    config.LabApp.default_url = f"/lab/tree/{page}" if page else "/lab"
    config.LabApp.extension_manager = "readonly"
    # Named here because an editable install has no configuration file of ours.
    services = {"refinishlib.course.lab": True}
    config.ServerApp.jpserver_extensions = services | (
        {} if desk == "instructor" else dict.fromkeys(NBGRADER_SERVICES, False)
    )
    config.ServerApp.root_dir = str(root)
    config.ServerApp.port = port
    config.ServerApp.open_browser = browser
    config.ServerApp.allow_root = True  # a school's container often knows no other user
    config.ServerApp.log_level = "ERROR"
    config.LabApp.log_level = "ERROR"
    config.LabApp.custom_css = True
    config.LabApp.extra_labextensions_path = [str(HERE / "labextensions")]
    config.FileContentsManager.hide_globs = list(hidden)
    print("JupyterLab starts and opens in your browser. Leave this window open; Ctrl+C here ends it.", flush=True)
    if zmq.has("curve"):
        config.KernelManager.transport_encryption = "auto"  # else the kernel warns of eavesdroppers
    # custom.css takes in the tokens and the calculators' style sheet, for job cards and cautions that stand there
    # before any calculator.
    styles = [str(HERE / "custom"), str(files("refinishlib.picture")), str(files("refinishlib.bench"))]
    server = LabApp.initialize_server(config=config, static_custom_path=styles)
    server.contents_manager.register_pre_save_hook(drop_dead_outputs)
    # Ctrl+C ends it at once. Jupyter would ask back first, and its "answer yes" can sleep until the next request.
    signal.signal(signal.SIGINT, lambda number, frame: server.stop(from_signal=True))
    server.start()
    # A request that was cut off leaves the thread that read its file waiting for the next one, and Python would wait
    # for that thread for good.
    for thread in threading.enumerate():
        stop = getattr(thread, "stop", None)
        if thread.name == "AnyIO worker thread" and callable(stop):
            stop()
    return 0


def set_up(desk: str, folder: Path, page: str) -> dict[str, Path]:
    """Write a desk's settings and an empty workspace with its page on it; the user's own choices stay.

    Returns the folders: "settings" and "workspaces", written anew each time, and "choices", JupyterLab's folder for
    what the user sets, where only what the desk begins with is written.
    """
    from jupyterlab_server.workspaces_handler import WorkspacesManager

    folders = {name: folder / name for name in ("settings", "choices", "workspaces")}
    for name in ("settings", "workspaces"):
        shutil.rmtree(folders[name], ignore_errors=True)
    for path in folders.values():
        path.mkdir(parents=True, exist_ok=True)
    everyone, own = (json.loads((HERE / f"settings/{name}.json").read_text("utf-8")) for name in ("everyone", desk))
    disabled = everyone["page_config"]["disabledExtensions"] | own["page_config"]["disabledExtensions"]
    _write(folders["settings"] / "page_config.json", {"disabledExtensions": disabled, "refinishDesk": desk})
    _write(folders["settings"] / "overrides.json", everyone["overrides"] | own["overrides"])
    for plugin, choice in own.get("choices", {}).items():
        path = folders["choices"] / (plugin.replace(":", "/") + ".jupyterlab-settings")
        if not path.exists():
            _write(path, choice)
    WorkspacesManager(str(folders["workspaces"])).save("default", json.dumps(_workspace(page, desk)))
    return folders


def _write(path: Path, content: dict[str, Any]) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(content, indent=2), encoding="utf-8")


def _workspace(page: str, desk: str) -> dict[str, Any]:
    """JupyterLab's own form of a layout: one notebook or the start page, both sidebars closed."""
    closed = {"collapsed": True, "visible": desk == "instructor", "widgets": []}
    name = f"notebook:{page}" if page else START_PAGE
    opened = {name: {"data": {"path": page, "factory": "Notebook"}}} if page else {}
    return {
        "metadata": {"id": "default"},
        "data": {
            "layout-restorer:data": {
                "main": {"dock": {"type": "tab-area", "currentIndex": 0, "widgets": [name]}, "current": name},
                "down": {"size": 0, "widgets": []},
                "left": closed,
                "right": closed,
                "relativeSizes": [0, 1, 0],
                "top": {"simpleVisibility": True},
            },
            **opened,
            "file-browser-filebrowser:cwd": {"path": "lessons"},
        },
    }
