"""The build hook: browser code into static/vendor, templates/ and static/ into the wheel."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

sys.path.insert(0, str(Path(__file__).resolve().parent))
import browser_code


class PagesAndBrowserCode(BuildHookInterface[Any]):
    """Give wheel, sdist and editable install all that the pages need."""

    def dependencies(self) -> list[str]:
        """Ask for npm as a wheel where it is needed and the machine has none."""
        return browser_code.build_requirements(Path(self.root))

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Bring the browser code; into a standard wheel put the folders that pages are made of."""
        browser_code.bring(Path(self.root))
        if self.target_name == "wheel" and version == "standard":
            for folder in ("templates", "static"):
                build_data["force_include"][folder] = f"bench/{folder}"
