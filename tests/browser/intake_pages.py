"""Fixtures and measures for the checks of the customer's pages."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, BrowserContext, Page

TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
PHONE = {"width": 390, "height": 844}
NARROW = {"width": 320, "height": 640}
DESKTOP = {"width": 1280, "height": 900}


def contexts(browser: Browser, address: str, **options: Any) -> Iterator[BrowserContext]:
    """A visitor's browser, phone sized unless said otherwise."""
    settings = {"viewport": PHONE, "locale": "en-US", "base_url": address} | options
    context = browser.new_context(**settings)
    context.set_default_timeout(30_000)
    yield context
    context.close()


def violations(page: Page, *more_rules: str) -> list[str]:
    """What axe finds on the page, as lines that say where."""
    rules = {rule: {"enabled": True} for rule in more_rules}
    options = {"runOnly": {"type": "tag", "values": [*TAGS]}, "rules": rules}
    found = Axe().run(page, options=options).response["violations"]
    return [
        f"{one['id']}: {node['target']} {node['failureSummary']}"
        for one in found
        for node in one["nodes"]
    ]


def wider_than_screen(page: Page) -> bool:
    return bool(
        page.evaluate("document.documentElement.scrollWidth > document.documentElement.clientWidth")
    )


# Targets alone on their line; links inside a sentence are exempt, as in WCAG 2.5.8.
SMALL_TARGETS = """() => {
  const small = [];
  for (const element of document.querySelectorAll("a, button, summary, input, select, textarea")) {
    if (element.type === "hidden" || element.ariaHidden === "true") continue;
    if (element.closest(".skip")) continue;
    const target = element.closest("label.choice") || element;
    const box = target.getBoundingClientRect();
    if (!box.width || getComputedStyle(element).visibility === "hidden") continue;
    const words = `${element.tagName} ${element.textContent.trim()}`;
    if (box.height < 43.5) small.push(`${words} ${box.height}`);
  }
  return small;
}"""

FOCUS_IS_SEEN = """() => {
  const element = document.activeElement;
  if (!element || element === document.body) return true;
  const shown = element.closest("label.choice") || element;
  const box = shown.getClientRects()[0] || shown.getBoundingClientRect(); // a link may wrap
  const down = box.top + Math.min(box.height / 2, 12);
  const top = document.elementFromPoint(box.left + box.width / 2, down);
  return !top || shown.contains(top) || top.contains(shown);
}"""
