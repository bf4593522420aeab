"""The app: settings -> store -> rooms of pages -> checks of every request -> error pages."""

from __future__ import annotations

import os
import pkgutil
import secrets
from datetime import timedelta
from importlib import import_module
from pathlib import Path

from argon2 import PasswordHasher
from flask import Blueprint, Flask

import bench.web
from bench import places
from bench.settings import Settings
from bench.store.credentials import Credentials
from bench.store.log import Log
from bench.store.open import open_store
from bench.sync.receive import Intake
from bench.web import compressed, frame, htmx, roles, security, signed, trouble
from bench.web.clock import SYSTEM, Clock
from bench.web.seats import Seats
from bench.web.stamps import Stamps

KEY_FILE = "session-key"
KEY_BYTES = 32


def create_app(
    settings: Settings, *, clock: Clock = SYSTEM, hasher: PasswordHasher | None = None
) -> Flask:
    """Return the app of one bench with its store open and every room of pages in it.

    `hasher` makes the hashes of PINs; None takes the store's own, at full cost.
    Raises what opening the store raises (store.refusals).
    """
    app = Flask("bench", static_folder=None, template_folder=str(places.templates()))
    store = open_store(settings.data)
    log = Log(store, clock.now_ms)
    app.extensions |= {
        "store": store, "log": log, "credentials": Credentials(store, hasher=hasher),
        "clock": clock, "seats": Seats(), "stamps": Stamps(), "intake": Intake(log, clock.now_ms),
    }  # fmt: skip
    app.config.update(
        SETTINGS=settings,
        NAMES=frozenset(settings.names),
        SECRET_KEY=session_key(settings.data),
        PERMANENT_SESSION_LIFETIME=timedelta(days=30),
    )
    compressed.install(app)
    htmx.install(app)
    security.install(app)
    app.before_request(roles.guard)
    trouble.install(app)
    signed.install(app)
    frame.install(app, places.static())
    for room in rooms():
        app.register_blueprint(room)
    return app


def rooms() -> list[Blueprint]:
    """Return the `blueprint` of every module of bench.web that has one, by the modules' names."""
    names = sorted(module.name for module in pkgutil.iter_modules(bench.web.__path__))
    modules = [import_module(f"bench.web.{name}") for name in names]
    return [module.blueprint for module in modules if hasattr(module, "blueprint")]


def session_key(folder: Path) -> bytes:
    """Return the key that signs cookies: made once, in a file only its owner reads where that exists."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / KEY_FILE
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return _kept_key(path)
    with os.fdopen(handle, "wb") as file:
        file.write(secrets.token_bytes(KEY_BYTES))
    return path.read_bytes()


def _kept_key(path: Path) -> bytes:
    key = path.read_bytes()
    if len(key) < KEY_BYTES:
        path.unlink()
        return session_key(path.parent)
    return key
