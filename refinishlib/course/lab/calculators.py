"""`refinish bench`: the calculators on a page of their own, for someone who paints and wants a number now."""

from __future__ import annotations

import argparse
import os
import secrets
import signal
import socket
from pathlib import Path

from refinishlib.course.lab.opening import NBGRADER_SERVICES, add_lab_arguments
from refinishlib.entry import BadEntry

PORT = 8878  # its own, and always the same: phones know it
# A kernel that no page is connected to, as after a phone has lost the network for good, is ended after this.
IDLE_S, LOOK_S = 900, 60
# What may be installed for a JupyterLab, and has nothing to do here.
NOT_HERE = (
    "jupyterlab", "notebook", "notebook_shim", "jupyter_lsp", "jupyter_server_terminals", "nbclassic",
    "refinishlib.course.lab", *NBGRADER_SERVICES,
)  # fmt: skip


def add_arguments(parser: argparse.ArgumentParser) -> None:
    add_lab_arguments(parser, PORT)
    parser.add_argument("--shop", type=Path, metavar="FOLDER", help="your own toners, colours, sheets and panels")
    parser.add_argument("--share", action="store_true", help="let phones of this network in, by a code to point at")


def run(arguments: argparse.Namespace) -> int:
    """Serve the calculators until it is stopped. Their kernels work in a folder where the job and the cards lie.

    Raises
    ------
    BadEntry : a shop's folder that is not there; what is wrong inside it stands on the page
    """
    if arguments.shop and not arguments.shop.is_dir():
        raise BadEntry(f"--shop: {arguments.shop} was given, allowed is a folder that is there.")
    import zmq
    from jupyter_server.serverapp import ServerApp
    from traitlets.config import Config

    bench = Path.cwd() / ".local" / "painter"
    bench.mkdir(parents=True, exist_ok=True)
    config = Config()
    config.ServerApp.jpserver_extensions = {"refinishlib.bench.served": True} | dict.fromkeys(NOT_HERE, False)
    config.ServerApp.root_dir = str(bench)
    config.ServerApp.default_url = "/refinish"
    config.ServerApp.port = arguments.port
    config.ServerApp.open_browser = not arguments.no_browser
    config.ServerApp.allow_root = True  # a shop's machine often knows no other user
    config.ServerApp.log_level = "ERROR"
    config.ServerApp.kernel_manager_class = "refinishlib.bench.served.kernels.BenchKernels"
    config.MappingKernelManager.cull_idle_timeout = IDLE_S
    config.MappingKernelManager.cull_interval = LOOK_S
    if zmq.has("curve"):
        config.KernelManager.transport_encryption = "auto"  # else the kernel warns of eavesdroppers
    address = ""
    if arguments.share:
        token = kept_token(bench / "way-in")
        address = f"http://{own_address()}:{arguments.port}/refinish?token={token}"
        config.ServerApp.ip = "0.0.0.0"
        config.ServerApp.port_retries = 0  # the code on the wall says one port
        config.ServerApp.allow_remote_access = True
        config.IdentityProvider.token = token
    print("The bench opens in your browser. Leave this window open; Ctrl+C here ends it.", flush=True)
    server = ServerApp.instance(config=config)
    server.initialize([])
    known = server.web_app.settings["refinish_bench"]
    known.shop, known.shared_at = arguments.shop and arguments.shop.resolve(), address
    if address:
        show_code(address)
    # Ctrl+C ends it at once; Jupyter would ask back first.
    signal.signal(signal.SIGINT, lambda number, frame: server.stop(from_signal=True))
    server.start()
    return 0


def kept_token(file: Path) -> str:
    """The word that lets a phone in: made once, so that it need not be pointed at the code again after a restart."""
    if not file.exists():
        file.touch(mode=0o600)
        file.write_text(secrets.token_urlsafe(18), encoding="utf-8")
    return os.environ.get("JUPYTER_TOKEN") or file.read_text(encoding="utf-8").strip()


def own_address() -> str:
    """This machine's address in its network; its name where it has none."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as asking:
        try:
            asking.connect(("192.0.2.1", 9))  # only asks which way it would go: nothing is sent
            found: str = asking.getsockname()[0]
        except OSError:
            return socket.gethostname()
    return found


def show_code(address: str) -> None:
    """Draw the address as a code to point a phone at."""
    import segno

    print(f"On a phone of the same network: {address}\nWhoever sees this code gets in.", flush=True)
    segno.make(address, error="m").terminal(compact=True)
