"""Whether the bench answers, in JSON, for whoever watches over the PC."""

from __future__ import annotations

import shutil

from flask import Blueprint

from bench import __version__
from bench.store.migrations import NAMES
from bench.web import book
from bench.web.roles import least

blueprint = Blueprint("health", __name__)


@blueprint.get("/health")
@least("stranger", quiet=True)
def health() -> dict[str, object]:
    """Say that the bench answers, what it holds, and how much room is left on its disk."""
    held = book.log().cursors().values()
    return {
        "status": "ok",
        "version": __version__,
        "schema": NAMES[-1],
        "entries": sum(cursor.seq for cursor in held),
        "newest_digest": max(held, key=lambda cursor: cursor.id).digest if held else "",
        "free_bytes": shutil.disk_usage(book.store().folder).free,
    }
