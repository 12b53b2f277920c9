"""The kernels of the bench's own server."""

from __future__ import annotations

from typing import Any

from jupyter_server.services.kernels.kernelmanager import AsyncMappingKernelManager
from tornado import web
from traitlets import TraitError


class BenchKernels(AsyncMappingKernelManager):
    """As Jupyter's own, which cannot tell of its kernels while one of them is just being made."""

    def kernel_model(self, kernel_id: str) -> dict[str, Any]:
        try:
            model: dict[str, Any] = super().kernel_model(kernel_id)  # type: ignore[no-untyped-call]
        except TraitError:
            raise web.HTTPError(404, "this kernel is just being made") from None
        return model
