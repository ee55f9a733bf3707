"""A real browser without a window, and what a checker of accessibility finds in a page that it shows."""

from __future__ import annotations

import html
import importlib.util
import json
import os
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import pytest

NAMES = ("chromium", "chromium-browser", "google-chrome", "chrome")
FLAGS = (
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--hide-scrollbars",
    "--allow-file-access-from-files",
    "--virtual-time-budget=20000",
)
DARK = "--blink-settings=preferredColorScheme=0"

FRAME = """\
<!DOCTYPE html><html lang="en"><head><meta charset="utf-8"><title>check</title></head><body style="margin:0">
<iframe id="page" title="page" src="%s" style="width:%dpx;height:900px;border:0"></iframe><pre id="found">nothing</pre>
<script>
const frame = document.getElementById("page"), found = document.getElementById("found");
frame.addEventListener("load", async () => {
  const inner = frame.contentDocument, script = inner.createElement("script");
  script.textContent = %s;
  inner.head.append(script);
  script.remove();
  for (const image of inner.images) { image.loading = "eager"; await image.decode().catch(() => {}); }
  const result = await frame.contentWindow.axe.run(inner, {resultTypes: ["violations", "incomplete"]});
  found.textContent = JSON.stringify({
    violations: result.violations.map(v => [v.id, v.help, v.nodes.map(n => n.html)]),
    passes: result.passes.length,
    width: inner.documentElement.clientWidth,
    scrolls: inner.documentElement.scrollWidth,
    dark: frame.contentWindow.matchMedia("(prefers-color-scheme: dark)").matches,
    images: [...inner.images].map(i => [i.alt, i.naturalWidth]),
    scripts: inner.scripts.length,
  });
});
</script></body></html>
"""


def program() -> str:
    """The browser. Skips the test where there is none; where all that tests need is installed, as in CI, it fails."""
    found = next(filter(None, map(shutil.which, NAMES)), None)
    if found is None:
        missing = "no Chromium; tests/setup-env installs it where it may"
        if os.environ.get("CI"):
            pytest.fail(missing)
        pytest.skip(missing)
    return found


def checked(page: Path, width: int, folder: Path, dark: bool = False) -> dict[str, Any]:
    """What axe-core (the rules of WCAG 2.2, A and AA, among others) and the browser itself say of a page, shown so many
    pixels wide."""
    spec = importlib.util.find_spec("axe_playwright_python")
    if spec is None or spec.origin is None:
        pytest.skip("no axe-core; tests/setup-env installs it")
    source = (Path(spec.origin).parent / "axe.min.js").read_text(encoding="utf-8")
    wrapper = folder / f"check-{width}-{dark}.html"
    quoted = json.dumps(source).replace("</", "<\\/")
    wrapper.write_text(FRAME % (page.as_uri(), width, quoted), encoding="utf-8")
    dom = run(
        folder, *([DARK] if dark else []), f"--window-size={max(width, 500)},1000", "--dump-dom", wrapper.as_uri()
    )
    text = re.search(r'<pre id="found">(.*?)</pre>', dom, re.DOTALL)
    assert text is not None and text[1] != "nothing", dom[-2000:]
    return json.loads(html.unescape(text[1]))


def run(folder: Path, *words: str) -> str:
    """What the browser prints."""
    call = [program(), *FLAGS, f"--user-data-dir={folder / 'profile'}", *words]
    return subprocess.run(call, capture_output=True, text=True, timeout=120, check=True).stdout
