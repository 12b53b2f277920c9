"""The calculators' own page, served by jupyter_server: home, an address for each, kernels kept warm, the job."""

from __future__ import annotations

from typing import Any


def _jupyter_server_extension_points() -> list[dict[str, str]]:
    return [{"module": "refinishlib.bench.served"}]


def _load_jupyter_server_extension(app: Any) -> None:
    from refinishlib.bench.served.server import add_handlers

    add_handlers(app)
