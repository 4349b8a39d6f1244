"""Lighthouse on the demo's main pages, as a phone on a slow network sees them.

    .venv/bin/python -m tests.bench.lighthouse [--runs 3] [--folder FOLDER] [PAGE ...]

Needs Node 18.16 or newer, Chromium, and the registry of npm for the first run (or a FOLDER in which
`npm install lighthouse@12.8.2` was run before). Prints the best of several runs for each page, and each audit that lost
points: speeds depend on what else the machine does. Pinned, as each release weighs audits anew; 13 needs a newer Node.
"""

import argparse
import json
import os
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, sync_playwright

from tests.browser.conftest import FLAGS
from tests.browser.crawl import sign_in
from tests.running import Server, start_server, stop_server

LIGHTHOUSE = "lighthouse@12.8.2"
CATEGORIES = ("performance", "accessibility", "best-practices")
PAGES = {
    "desk": ("marshal", "/desk"),
    "pilot": ("pilot", "/my"),
    "board": ("bystander", "/board"),
    "plan": ("organiser", "/organiser/meets/1/channels?count=6&spacing=37&plans=A&plans=B&plans=E&plans=F&plans=R"),
    "review": ("organiser", "/organiser/meets/1/review"),
}


@dataclass(frozen=True, slots=True)
class Scores:
    """From 0 to 100 by category, and a line for each audit that lost points."""

    by_category: dict[str, int]
    lost: tuple[str, ...]

    @property
    def rank(self) -> tuple[int, int]:
        """The larger the better: the worst category, then all together."""
        return min(self.by_category.values()), sum(self.by_category.values())


def cookies_of(browser: Browser, server: Server, role: str) -> str:
    """What the browser of somebody who signed in sends along."""
    context = browser.new_context()
    sign_in(context.new_page(), server, role)
    cookies = "; ".join(f"{each['name']}={each['value']}" for each in context.cookies())  # type: ignore[typeddict-item]
    context.close()
    return cookies


def run_once(address: str, cookies: str, chromium: str, folder: Path) -> Scores:
    """One run of Lighthouse at its settings for phones."""
    report = folder / "report.json"
    command = [
        "npx", "--yes", LIGHTHOUSE, address, "--quiet", "--output=json", f"--output-path={report}",
        f"--only-categories={','.join(CATEGORIES)}", f"--chrome-flags={' '.join(FLAGS)}",
        f"--extra-headers={json.dumps({'Cookie': cookies})}",
    ]  # fmt: skip
    subprocess.run(command, cwd=folder, env={**os.environ, "CHROME_PATH": chromium}, check=True)
    return read(json.loads(report.read_text(encoding="utf-8")))


def read(report: dict[str, Any]) -> Scores:
    """The scores of a report; fails where the page wasn't the one that was asked for."""
    assert report["finalDisplayedUrl"] == report["requestedUrl"], f"led on to {report['finalDisplayedUrl']}"
    assert "runtimeError" not in report, report["runtimeError"]
    scores = {name: round(100 * report["categories"][name]["score"]) for name in CATEGORIES}
    return Scores(scores, tuple(_lost(report)))


def _lost(report: dict[str, Any]) -> Iterator[str]:
    for name in CATEGORIES:
        for reference in report["categories"][name]["auditRefs"]:
            audit = report["audits"][reference["id"]]
            if reference["weight"] and audit["score"] is not None and audit["score"] < 1:
                yield f"{name}: {audit['id']} {audit['score']:g} ({audit.get('displayValue') or audit['title']})"


def main() -> None:
    parser = argparse.ArgumentParser(description="Lighthouse on the demo's main pages.")
    parser.add_argument("pages", nargs="*", metavar="PAGE", help=f"some of {', '.join(PAGES)}; all if none is named")
    parser.add_argument("--runs", type=int, default=3)
    parser.add_argument("--folder", type=Path, help="where Lighthouse is installed already")
    asked = parser.parse_args()
    chromium = shutil.which("chromium")
    assert chromium, "Chromium is not installed"
    process, server = start_server("demo")
    try:
        with sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
            cookies = {role: cookies_of(browser, server, role) for role, _path in PAGES.values()}
            browser.close()
        with tempfile.TemporaryDirectory() as folder:
            print(f"{'':8}" + "".join(f"{name:>16}" for name in CATEGORIES))
            for name in asked.pages or PAGES:
                role, path = PAGES[name]
                runs = [
                    run_once(server.base + path, cookies[role], chromium, asked.folder or Path(folder))
                    for _ in range(asked.runs)
                ]
                best = max(runs, key=lambda scores: scores.rank)
                print(f"{name:8}" + "".join(f"{best.by_category[each]:16}" for each in CATEGORIES), flush=True)
                for line in best.lost:
                    print(f"{'':8}  {line}", flush=True)
    finally:
        stop_server(process)


if __name__ == "__main__":
    main()
