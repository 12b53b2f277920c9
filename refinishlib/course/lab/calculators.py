"""`refinish bench`: the calculators on a page of their own, for someone who paints and wants a number now."""

from __future__ import annotations

import argparse
import signal
from pathlib import Path

from refinishlib.course.lab.opening import NBGRADER_SERVICES, add_lab_arguments

PORT = 8878  # its own, since browsers keep remembered entries by address
# A kernel that no page is connected to, as after a phone has lost the network for good, is ended after this.
IDLE_S, LOOK_S = 900, 60
# What may be installed for a JupyterLab, and has nothing to do here.
NOT_HERE = (
    "jupyterlab", "notebook", "notebook_shim", "jupyter_lsp", "jupyter_server_terminals", "nbclassic",
    "refinishlib.course.lab", *NBGRADER_SERVICES,
)  # fmt: skip


def add_arguments(parser: argparse.ArgumentParser) -> None:
    add_lab_arguments(parser, PORT)


def run(arguments: argparse.Namespace) -> int:
    """Serve the calculators until it is stopped. Their kernels work in a folder where the job and the cards lie."""
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
    config.MappingKernelManager.cull_idle_timeout = IDLE_S
    config.MappingKernelManager.cull_interval = LOOK_S
    if zmq.has("curve"):
        config.KernelManager.transport_encryption = "auto"  # else the kernel warns of eavesdroppers
    print("The bench opens in your browser. Leave this window open; Ctrl+C here ends it.", flush=True)
    server = ServerApp.instance(config=config)
    server.initialize([])
    # Ctrl+C ends it at once; Jupyter would ask back first.
    signal.signal(signal.SIGINT, lambda number, frame: server.stop(from_signal=True))
    server.start()
    return 0
