"""What a person at the page would never see but must not happen: errors, refused scripts, failures."""

from __future__ import annotations

import re

from playwright.sync_api import BrowserContext, ConsoleMessage, Page, Response

# Chromium writes every 4xx on the console; these are refusals in words, and part of the job.
ANSWERED_IN_WORDS = re.compile(
    r"Failed to load resource.*status of (401|409|422)\b|Response Status Error Code (401|409|422)\b"
)


class Watch:
    """Notes the troubles of every page of the contexts it looks over.

    `expected` holds patterns of console lines that a test brings about on purpose.
    """

    def __init__(self) -> None:
        self.troubles: list[str] = []
        self.expected: list[str] = []

    def over(self, context: BrowserContext) -> None:
        context.on("page", self._page)
        context.on("console", self._console)
        context.on("response", self._response)

    def _page(self, page: Page) -> None:
        page.on("pageerror", lambda error: self.troubles.append(f"{page.url}: {error}"))

    def _console(self, line: ConsoleMessage) -> None:
        said = f"{line.text} {line.location['url']}"
        known = ANSWERED_IN_WORDS.search(said) or any(re.search(one, said) for one in self.expected)
        if line.type in ("error", "warning") and not known:
            self.troubles.append(f"{line.page.url if line.page else ''}: {said}")

    def _response(self, answer: Response) -> None:
        if answer.status >= 500:
            self.troubles.append(f"{answer.status} {answer.url}")
