"""PouchDB in the browser and express-pouchdb behind it, brought from npm for the time of a measure."""

from __future__ import annotations

import shutil
import socket
import subprocess
import time
from pathlib import Path

PACKAGES = ("pouchdb@9", "express-pouchdb@4", "express@4")
START_S = 60
SERVER = """
const express = require("express");
const PouchDB = require("pouchdb").defaults({ prefix: "./data/" });
require("fs").mkdirSync("./data", { recursive: true });
const app = express();
app.get("/page", (_, answer) => answer.type("html").send(
  '<!doctype html><title>measured</title><script src="/pouchdb.min.js"></script>'));
app.get("/pouchdb.min.js", (_, answer) => answer.sendFile(require.resolve("pouchdb/dist/pouchdb.min.js")));
app.use("/db", require("express-pouchdb")(PouchDB, { mode: "minimumForPouchDB", inMemoryConfig: true,
  logPath: "./data/log.txt" }));
app.listen(Number(process.argv[2]), "127.0.0.1");
"""


class Replicator:
    """The server as a process of its own in a folder of its own."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        with socket.socket() as probe:
            probe.bind(("127.0.0.1", 0))
            self._port = probe.getsockname()[1]
        self.page = f"http://127.0.0.1:{self._port}/page"
        self.target = f"http://127.0.0.1:{self._port}/db/measured"

    def __enter__(self) -> Replicator:
        self.folder.mkdir(parents=True)
        npm = shutil.which("npm") or "npm"
        (self.folder / "package.json").write_text("{}", encoding="utf-8")
        quiet = ["--no-audit", "--no-fund", "--loglevel=error", "--ignore-scripts"]
        subprocess.run([npm, "install", *quiet, *PACKAGES], cwd=self.folder, check=True)
        (self.folder / "server.js").write_text(SERVER, encoding="utf-8")
        node = shutil.which("node") or "node"
        self._process = subprocess.Popen(
            [node, "server.js", str(self._port)], cwd=self.folder, stdout=subprocess.DEVNULL
        )
        self._await()
        return self

    def _await(self) -> None:
        until = time.monotonic() + START_S
        while time.monotonic() < until:
            try:
                socket.create_connection(("127.0.0.1", self._port), timeout=1).close()
                return
            except OSError:
                time.sleep(0.1)
        raise SystemExit("the replicator did not start")

    def __exit__(self, *_: object) -> None:
        self._process.terminate()
        self._process.wait(timeout=20)
